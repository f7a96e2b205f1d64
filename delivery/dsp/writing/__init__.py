"""From floating point to integer samples: dither, noise shaping, rounding."""

from delivery.dsp.processor import folders

__path__ = folders(__path__)
