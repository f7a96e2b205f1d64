"""Sample peaks, peaks between samples, runs of equal samples, and the gain that keeps them under a ceiling."""
