"""The lowest and highest sample of each short span, found once and shared by the meters that look at peaks."""

from __future__ import annotations

import numpy as np

from delivery.audio.facts import SoundFacts
from delivery.dsp.peaks.extremes import Extremes, extremes_of
from delivery.meters.meter import Array, planar


class SpanExtremes:
    """Extremes of each SPAN frames of the last block.

    Parameters
    ----------
    shared : whoever feeds the meters calls `update` before them; otherwise the only meter that reads it does
    """

    def __init__(self, sound: SoundFacts, *, shared: bool = False) -> None:
        self._shared = shared
        self._found = extremes_of(np.zeros((sound.channels, 0)))

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        self._found = extremes_of(planar(block))

    def of(self, block: Array) -> Extremes:
        """Of *block*, the last one."""
        if not self._shared:
            self.update(block)
        return self._found
