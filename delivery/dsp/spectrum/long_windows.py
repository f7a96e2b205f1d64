"""Power spectra of the bass over windows of 1.3 s and more, from a decimated copy of the sound."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.blocks.framing import Framing, spread
from delivery.dsp.spectrum._loops import powers_and_products
from delivery.dsp.spectrum.spectra import hann

Array = NDArray[np.float64]
Singles = NDArray[np.float32]

LEAST_S = 1.3
HIGHEST_HZ = 400.0
LEAST_FRAMES = 8
TOGETHER = 8
"""Windows that are transformed at once: each by itself would take longer to hand on than to transform; of more, the
spectra would leave the cache."""
Windows = tuple[Array, Array, Array]
"""Places in s, (windows, bins) of powers, and of products of two channels."""


class LongWindows:
    """Windows, several at a time: their places in s, their power over all channels, the product of two channels.

    Parameters
    ----------
    rate_hz : of the decimated sound
    duration_s : of the sound; 0 if unknown
    response : power gain of the decimation at frequencies in Hz
    """

    def __init__(
        self,
        channels: int,
        rate_hz: float,
        duration_s: float,
        response: Callable[[Array], Array],
        enough: int,
        most_apart: float,
    ) -> None:
        self.rate_hz = rate_hz
        self.size = int(2 ** np.ceil(np.log2(LEAST_S * rate_hz)))
        frames = round(duration_s * rate_hz) or enough * self.size
        self._framing = Framing(channels, self.size, spread(frames, self.size, enough, most_apart), np.float32)
        self._window = hann(self.size)
        bins_hz = np.arange(self.size // 2 + 1) * self.rate_hz / self.size
        self._gain = 1 / response(bins_hz[: np.searchsorted(bins_hz, HIGHEST_HZ, "right")])
        self._windowed = np.empty((TOGETHER, channels, self.size))
        self._starts: list[int] = []
        self.count = 0

    def take(self, samples: Singles) -> Iterator[Windows]:
        """Those that these (channels, frames), decimated, complete, TOGETHER at a time; the rest waits."""
        for start, piece in self._framing.windows(samples):
            np.multiply(piece, self._window, out=self._windowed[len(self._starts)])
            self._starts.append(start)
            if len(self._starts) == TOGETHER:
                yield self._waiting()

    def last(self) -> Iterator[Windows]:
        """Those that wait; of sound too short for one window, one as long as the sound."""
        rest = self._framing.rest
        frames = rest.shape[1]
        if self._starts:
            yield self._waiting()
        elif not self.count and frames >= LEAST_FRAMES:
            self._windowed[0] = 0.0
            self._windowed[0, :, :frames] = rest * (hann(frames) * np.sqrt(self.size / frames))
            self._starts.append(0)
            yield self._waiting()

    def _waiting(self) -> Windows:
        places_s = np.array(self._starts) / self.rate_hz
        spectra = np.fft.rfft(self._windowed[: len(places_s)])
        self.count += len(places_s)
        self._starts.clear()
        powers, products = np.empty((2, len(places_s), len(self._gain)))
        powers_and_products(spectra, self._gain, powers, products)
        return places_s, powers, products
