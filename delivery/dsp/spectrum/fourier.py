"""Spectra of windows of one size, a power of two."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.spectrum._fourier import transform

Array = NDArray[np.float64]

APART = 72
"""Numbers between the rows of the work array: rows a power of two apart would share few places in the cache."""


class Fourier:
    """Windows and transforms pieces of *window*'s size: a power of two, 128 or more."""

    def __init__(self, window: Array) -> None:
        half = len(window) // 2
        self._window = window
        self._turns, self._half_turns = _turns(np.arange(half), half), _turns(np.arange(half), len(window))
        rows = 2 ** (half.bit_length() // 2)
        self._between = _turns(np.outer(np.arange(rows), np.arange(half // rows)), half)
        self._room = np.empty((4, half + APART))

    def spectra(self, planar: Array, out: Array) -> Array:
        """Real and imaginary parts, (channels, 2, size // 2 + 1), of (channels, size); in *out*."""
        transform(planar, self._window, self._turns, self._between, self._half_turns, self._room, out)
        return out


def _turns(numbers: NDArray[np.int64], whole: int) -> Array:
    angles = -2 * np.pi * numbers / whole
    return np.stack([np.cos(angles), np.sin(angles)])
