"""One view (every word and rounding), and one file for each output."""
