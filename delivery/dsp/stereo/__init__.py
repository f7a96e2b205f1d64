"""Two channels compared: correlation, mid and side, mono fold-down."""

from delivery.dsp.processor import folders

__path__ = folders(__path__)
