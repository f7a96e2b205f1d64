"""Band powers of short windows about 10 ms apart: for finding hits and changes of timbre, for no figure by itself."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SIZE, HOP = 1024, 512
"""At 44.1 and 48 kHz, 21 ms; higher rates are halved to these first."""
HALVED_FROM_HZ = 80_000
TOGETHER = 64
"""Windows transformed at a time: what they need stays in the cache."""
SECOND_WEIGHT = 0.7
"""Of the second channel beside the first: added so, they never cancel."""


class ShortSpectra:
    """Takes (channels, frames) in pieces of any length.

    Parameters
    ----------
    bands_hz : (bands, 2) edges
    """

    def __init__(self, rate_hz: int, bands_hz: Array) -> None:
        self._factor = 1
        while rate_hz / self._factor > HALVED_FROM_HZ:
            self._factor *= 2
        self.hop_s = HOP * self._factor / rate_hz
        window = np.hanning(SIZE + 1)[:-1]
        self._window = window.astype(np.float32)
        shares = _shares(bands_hz, rate_hz, self._factor) * 2 / (SIZE * float(np.square(window).sum()))
        self._shares = np.repeat(shares, 2, axis=0)
        """For the squares of the real and of the imaginary part of each line."""
        self._windowed = np.empty((TOGETHER, SIZE), np.float32)
        self._spectra: NDArray[Any] = np.empty((TOGETHER, SIZE // 2 + 1), np.complex64)
        self._waiting, self._odd = np.zeros(0, np.float32), np.zeros(0)
        self._powers: list[NDArray[np.float32]] = []

    def take(self, planar: Array) -> None:
        """The next (channels, frames)."""
        one = planar[0] if len(planar) == 1 else planar[0] + SECOND_WEIGHT * planar[1]
        held = np.concatenate([self._waiting, self._halved(one)])
        count = max((len(held) - SIZE) // HOP + 1, 0)
        if count:
            windows = np.lib.stride_tricks.sliding_window_view(held, SIZE)[::HOP]
            self._powers += [self._band_powers(windows[at : at + TOGETHER]) for at in range(0, count, TOGETHER)]
        self._waiting = held[count * HOP :]

    def _band_powers(self, windows: NDArray[np.float32]) -> NDArray[np.float32]:
        """(windows, bands) of at most TOGETHER windows."""
        windowed = np.multiply(windows, self._window, out=self._windowed[: len(windows)])
        parts = np.fft.rfft(windowed, out=self._spectra[: len(windows)]).view(np.float32)
        return np.asarray(np.square(parts, out=parts) @ self._shares)

    def _halved(self, one: Array) -> NDArray[np.float32]:
        """Neighbours averaged, which falls off towards the top; `_shares` makes that good."""
        if self._factor == 1:
            return one.astype(np.float32)
        held = np.concatenate([self._odd, one]) if len(self._odd) else one
        whole = len(held) // self._factor * self._factor
        self._odd = held[whole:].copy()
        summed = held[: whole : self._factor].astype(np.float32)
        for at in range(1, self._factor):
            summed += held[at : whole : self._factor]
        return summed / np.float32(self._factor)

    @property
    def powers(self) -> Array:
        """(windows, bands) mean squares, ``hop_s`` apart."""
        if not self._powers:
            return np.zeros((0, self._shares.shape[1]))
        return np.concatenate(self._powers).astype(np.float64)

    def in_steps(self, step_s: float, steps: int) -> Array:
        """(steps, bands): the mean over the windows whose middle lies in each step; zeros where none does."""
        powers = self.powers
        middles_s = (np.arange(len(powers)) + 1) * self.hop_s
        ends = np.searchsorted(middles_s, np.arange(steps + 1) * step_s)
        sums = np.concatenate([np.zeros((1, powers.shape[1])), np.cumsum(powers, axis=0)])
        return np.asarray((sums[ends[1:]] - sums[ends[:-1]]) / np.maximum(np.diff(ends), 1)[:, None])


def _shares(bands_hz: Array, rate_hz: int, factor: int) -> NDArray[np.float32]:
    """(lines, bands): the part of each line's width inside each band, over the response of averaging neighbours."""
    bin_hz = rate_hz / factor / SIZE
    low, high = bands_hz.T
    below = (np.arange(SIZE // 2 + 1) - 0.5) * bin_hz
    inside = np.maximum(np.minimum(below[:, None] + bin_hz, high) - np.maximum(below[:, None], low), 0.0) / bin_hz
    turns = np.pi * np.arange(SIZE // 2 + 1) * bin_hz / rate_hz
    response = np.sinc(factor * turns / np.pi) / np.sinc(turns / np.pi)
    return np.asarray(inside / response[:, None] ** 2, np.float32)
