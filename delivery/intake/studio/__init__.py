"""The studio file: who signs, default specs, accepted spellings."""
