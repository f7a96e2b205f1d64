"""K-weighting, gating and level over time: ITU-R BS.1770-5, EBU Tech 3341 and 3342."""

from delivery.dsp.processor import folders

__path__ = folders(__path__)
