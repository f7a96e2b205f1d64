"""Audio that arrives in blocks of any length: integers and floats, windows, segments, growing rows."""

from delivery.dsp.processor import folders

__path__ = folders(__path__)
