"""Long-term spectra, third octaves, noise weightings, and their standard errors."""

from delivery.dsp.processor import folders

__path__ = folders(__path__)
