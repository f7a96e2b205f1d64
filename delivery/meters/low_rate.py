"""The sound at a low rate, computed once for all meters that look at low frequencies alone."""

from __future__ import annotations

from delivery.audio.facts import SoundFacts
from delivery.dsp.spectrum.decimation import Decimator, Singles
from delivery.meters.meter import Array, planar


class LowRate:
    """The last block at 1.2 to 2.4 kHz, and at twice and four times that, single precision.

    Parameters
    ----------
    shared : whoever feeds the meters calls `update` before them; otherwise the only meter that reads it does
    """

    def __init__(self, sound: SoundFacts, *, shared: bool = False) -> None:
        self._decimator = Decimator(sound.channels, sound.rate_hz)
        self._shared = shared
        self._samples = self._decimator.twice
        self.rate_hz = self._decimator.rate_hz
        self.response = self._decimator.response
        self.response_four_times = self._decimator.response_four_times

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        self._samples = self._decimator.take(planar(block))

    def samples(self, block: Array) -> Singles:
        """(channels, frames) at the low rate that *block*, the last one, completes."""
        if not self._shared:
            self.update(block)
        return self._samples

    def at_twice(self, block: Array) -> Singles:
        """The same at twice the low rate, of files from 4.8 kHz on."""
        self.samples(block)
        return self._decimator.twice

    def at_four_times(self, block: Array) -> Singles:
        """The same at four times the low rate, of files from 4.8 kHz on."""
        self.samples(block)
        return self._decimator.four_times
