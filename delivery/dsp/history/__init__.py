"""Traces of earlier processing in the samples: effective bits, quantisation, lossy coding."""

from delivery.dsp.processor import folders

__path__ = folders(__path__)
