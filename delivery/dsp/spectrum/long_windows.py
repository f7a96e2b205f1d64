"""Power spectra of the bass over windows of 1.3 s and more, from a decimated copy of the sound."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.blocks.framing import Framing, spread
from delivery.dsp.spectrum.decimation import Decimator
from delivery.dsp.spectrum.spectra import hann

Array = NDArray[np.float64]

LEAST_S = 1.3
HIGHEST_HZ = 400.0
LEAST_FRAMES = 8


class LongWindows:
    """Windows with their place in s, their power over all channels, and the product of two channels."""

    def __init__(self, channels: int, rate_hz: int, frames: int, enough: int, most_apart: float) -> None:
        self._decimator = Decimator(channels, rate_hz)
        self.rate_hz = self._decimator.rate_hz
        self.size = int(2 ** np.ceil(np.log2(LEAST_S * self.rate_hz)))
        decimated = round(frames * self.rate_hz / rate_hz) or enough * self.size
        self._framing = Framing(channels, self.size, spread(decimated, self.size, enough, most_apart))
        self._window = hann(self.size)
        bins_hz = np.arange(self.size // 2 + 1) * self.rate_hz / self.size
        self._used = int(np.searchsorted(bins_hz, HIGHEST_HZ, "right"))
        self._gain = 1 / self._decimator.response(bins_hz[: self._used])
        self.count = 0

    def take(self, samples: Array) -> Iterator[tuple[float, Array, Array | None]]:
        """Those that these (channels, frames) complete."""
        for start, piece in self._framing.windows(self._decimator.take(samples)):
            self.count += 1
            yield (start / self.rate_hz, *self._sums(piece * self._window))

    def last(self) -> Iterator[tuple[float, Array, Array | None]]:
        """Of sound too short for one window: one as long as the sound."""
        rest = self._framing.rest
        frames = rest.shape[1]
        if self.count or frames < LEAST_FRAMES:
            return
        self.count += 1
        yield (0.0, *self._sums(rest * hann(frames) * np.sqrt(self.size / frames)))

    def _sums(self, windowed: Array) -> tuple[Array, Array | None]:
        spectra = np.fft.rfft(windowed, self.size)[:, : self._used]
        real, imaginary = spectra.real, spectra.imag
        power = (real * real + imaginary * imaginary).sum(axis=0) * self._gain
        if len(spectra) != 2:
            return power, None
        return power, (real[0] * real[1] + imaginary[0] * imaginary[1]) * self._gain
