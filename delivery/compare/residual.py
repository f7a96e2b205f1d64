"""What is left when one sound is subtracted from another, summed up second by second and by third octaves. Pure."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.likeness._loops import subtracted
from delivery.dsp.spectrum.spectra import band_sums, hann, third_octave_bands, window_frames
from delivery.model.pair import Residual

Array = NDArray[np.float64]

FLOOR_DB = -200.0
"""Stands for nothing left at all; 32-bit samples reach -193."""


class ResidualSums:
    """Takes pieces of one second each; the last one may be shorter."""

    def __init__(self, rate_hz: int) -> None:
        self._size = window_frames(rate_hz)
        self._window = hann(self._size).astype(np.float32)
        self.middles_hz, self.edges_hz = third_octave_bands(self._size // 2 + 1, rate_hz / self._size)
        self._bin_hz = rate_hz / self._size
        self._squares: list[tuple[float, float]] = []
        self._powers = np.zeros((3, self._size // 2 + 1))
        """Power spectra of the first file, of the residual, and of the second file at the level of the first."""
        self._windows = 0

    def take(self, one: Array, other: Array, gains: Array) -> None:
        """The next piece of the one and of the other, (frames, channels) each; left is one - gains * other.

        Parameters
        ----------
        gains : (channels,)
        """
        mine, theirs = np.ascontiguousarray(one.T), np.ascontiguousarray(other.T)
        rest = np.empty_like(mine)
        self._squares.append(subtracted(mine, theirs, gains, rest))
        if len(one) >= self._size:  # one window a second shows a spectrum; all of them would only cost time
            middle = (len(one) - self._size) // 2
            pieces = (sound[:, middle : middle + self._size] for sound in (mine, rest))
            own, left = (np.fft.rfft(np.multiply(piece, self._window, dtype=np.float32)) for piece in pieces)
            for row, spectrum in enumerate((own, left, own - left)):
                self._powers[row] += (spectrum.real**2 + spectrum.imag**2).sum(axis=0)
            self._windows += 1

    def residual(self) -> Residual | None:
        """Residual of all blocks so far; None if the first file is silent."""
        whole_db = self.whole_db()
        if whole_db is None:
            return None
        return Residual(whole_db, self.curve_db(), tuple(self.middles_hz.tolist()), self.bands_db())

    def whole_db(self) -> float | None:
        """Of everything; None where the one is silent."""
        one, left = (sum(column) for column in zip(*self._squares, strict=True)) if self._squares else (0.0, 0.0)
        return _decibels(left, one) if one else None

    def curve_db(self) -> tuple[float, ...]:
        """Of each piece; 0 where the one is silent and something is left, the floor where nothing is."""
        return tuple(_decibels(left, one or left) for one, left in self._squares)

    def bands_db(self) -> tuple[float, ...]:
        """Residual of each band, dB relative to the first file's band."""
        bands = band_sums(self._powers[:2], self.edges_hz, self._bin_hz)
        return tuple(_decibels(float(left), float(one or left)) for one, left in bands.T)

    def bands_of_both(self) -> Array:
        """(2, bands) mean squares of the one and of the other at its level, channels added up, in the same windows."""
        scale = 2 / self._size**2 / max(self._windows, 1)
        return np.asarray(scale * band_sums(self._powers[[0, 2]], self.edges_hz, self._bin_hz))


def _decibels(part: float, whole: float) -> float:
    return max(FLOOR_DB, 10 * float(np.log10(part / whole))) if part > 0 else FLOOR_DB
