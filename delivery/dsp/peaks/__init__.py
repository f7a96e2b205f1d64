"""Sample peaks, peaks between samples, runs of equal samples, and the gain that keeps them below a ceiling."""

from delivery.dsp.processor import folders

__path__ = folders(__path__)
