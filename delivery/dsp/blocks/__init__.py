"""Sound that arrives in blocks of any length: windows, stretches, growing rows."""
