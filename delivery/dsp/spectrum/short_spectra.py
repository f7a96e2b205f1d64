"""Band powers of short windows about 10 ms apart: for finding hits and changes of timbre, for no figure by itself."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.spectrum._short_powers import mixed, short_powers
from delivery.dsp.spectrum.layout import SHORT_LANES
from delivery.dsp.spectrum.layout import SHORT_SIZE as SIZE

Array = NDArray[np.float64]

HOP = SIZE // 2
"""At 44.1 and 48 kHz, 11 ms; higher rates are halved to these first."""
HALVED_FROM_HZ = 80_000
TOGETHER = 2 * SHORT_LANES
"""Windows transformed side by side."""
SECOND_WEIGHT = 0.7
"""Of the second channel beside the first: added so, they never cancel."""


class ShortSpectra:
    """Takes channels in pieces of any length.

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
        angles = 2 * np.pi * np.arange(SIZE) / SIZE
        self._turns = np.array([np.cos(angles), np.sin(angles)], np.float32)
        scale = 2 / (SIZE * float(np.square(window).sum())) / 4  # short_powers are four times the squares
        self._shares = np.ascontiguousarray(_shares(bands_hz, rate_hz, self._factor).T * np.float32(scale))
        self._waiting, self._odd = np.zeros(0, np.float32), [np.zeros(0)]
        self._powers: list[NDArray[np.float32]] = []

    def take(self, channels: Sequence[Array]) -> None:
        """The next (frames,) of each channel, contiguous."""
        held = np.concatenate([self._waiting, self._mixed(channels)])
        count = max((len(held) - SIZE) // HOP + 1, 0)
        if count:
            self._powers.append(self._band_powers(held, count))
        self._waiting = held[count * HOP :]

    def _band_powers(self, held: NDArray[np.float32], count: int) -> NDArray[np.float32]:
        """(count, bands) of the windows that begin with these frames."""
        lines = np.empty((-(-count // TOGETHER), SIZE // 2 + 1, TOGETHER), np.float32)
        short_powers(held, HOP, self._window, self._turns, lines)
        bands = np.matmul(self._shares, lines).transpose(0, 2, 1)
        return np.asarray(bands.reshape(-1, len(self._shares))[:count])

    def _mixed(self, channels: Sequence[Array]) -> NDArray[np.float32]:
        """One channel at the lower rate: means of neighbours, falling off towards the top, which `_shares` corrects."""
        if len(self._odd[0]):
            channels = [np.concatenate(pieces) for pieces in zip(self._odd, channels, strict=True)]
        found = np.empty(len(channels[0]) // self._factor, np.float32)
        mixed(channels[0], channels[len(channels) > 1], SECOND_WEIGHT * (len(channels) > 1), self._factor, found)
        self._odd = [channel[len(found) * self._factor :].copy() for channel in channels]
        return found

    @property
    def powers(self) -> Array:
        """(windows, bands) mean squares, ``hop_s`` apart."""
        if not self._powers:
            return np.zeros((0, len(self._shares)))
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
