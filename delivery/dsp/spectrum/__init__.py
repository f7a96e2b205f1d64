"""Long-term spectra, third octaves, noise weightings, and their standard errors."""
