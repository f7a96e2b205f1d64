"""Events: clicks, gaps, sibilance, silence, hum, joins."""

from delivery.dsp.processor import folders

__path__ = folders(__path__)
