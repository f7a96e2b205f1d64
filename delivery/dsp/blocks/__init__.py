"""Audio that arrives in blocks of any length: windows, segments, growing rows."""
