"""What earlier processing left in the samples: effective bits, quantisation, traces of lossy coders."""

from delivery.dsp.processor import folders

__path__ = folders(__path__)
