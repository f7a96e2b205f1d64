"""SQLite: the measurement cache."""
