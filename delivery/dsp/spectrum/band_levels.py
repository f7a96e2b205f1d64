"""Levels of octave bands over time, for pictures of how a song's tone moves: fast, and no long-term figure."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.spectrum.spectra import hann, window_frames

Array = NDArray[np.float64]
Singles = NDArray[np.float32]

TOGETHER = 32_768
"""Frames of each channel in the windows transformed at a time: what they need stays in the cache."""
STEP_S = 0.1
"""One value in every band for so much time."""
FLOOR_DB = -120.0
OCTAVES = range(-4, 5)
"""63 Hz to 16 kHz: 1000 * 10**(3 k / 10) Hz, edges a factor of 10**(3/20) away (IEC 61260-1, base ten)."""


def octave_middles_hz(rate_hz: int) -> Array:
    """Of the octaves whose upper third octave has its middle below half the sample rate."""
    middles = np.array([1000 * 10 ** (3 * k / 10) for k in OCTAVES])
    return middles[middles * 10**0.1 < 0.5 * rate_hz]


class BandLevels:
    """Mean square of each octave band, channels added up, in steps of 0.1 s.

    Hann windows of 0.13 to 0.19 s overlap by half; a window counts for the step that holds its middle. Single precision
    adds noise 140 dB below the sound, which is enough for levels down to FLOOR_DB.
    """

    def __init__(self, rate_hz: int, channels: int) -> None:
        self.middles_hz = octave_middles_hz(rate_hz)
        self._rate_hz = rate_hz
        self._size = window_frames(rate_hz)
        self._hop = self._size // 2
        self._window = hann(self._size).astype(np.float32)
        self._shares = np.repeat(_shares(self._size, rate_hz, self.middles_hz), 2, axis=0).astype(np.float32)
        """For the squares of the real and of the imaginary part of each line."""
        together = max(TOGETHER // self._size, 1)
        self._windowed = np.empty((channels, together, self._size), np.float32)
        self._spectra: NDArray[Any] = np.empty((channels, together, self._size // 2 + 1), np.complex64)
        self._tail = np.zeros((channels, 0), np.float32)
        self._rows: list[Singles] = []

    def update(self, block: Array) -> None:
        """Take the next (frames, channels) float64, full scale 1.0; any number of frames."""
        samples = np.concatenate([self._tail, block.T], axis=1, dtype=np.float32)
        count = max((samples.shape[1] - self._size) // self._hop + 1, 0)
        if count:
            windows = np.lib.stride_tricks.sliding_window_view(samples, self._size, axis=1)[:, :: self._hop]
            together = self._windowed.shape[1]
            self._rows += [self._powers(windows[:, at : at + together]) for at in range(0, count, together)]
        self._tail = samples[:, count * self._hop :].copy()

    def _powers(self, windows: Singles) -> Singles:
        """(channels, windows, size) to (windows, bands)."""
        count = windows.shape[1]
        windowed = np.multiply(windows, self._window, out=self._windowed[:, :count])
        parts = np.fft.rfft(windowed, out=self._spectra[:, :count]).view(np.float32)
        return np.asarray(np.square(parts, out=parts).sum(axis=0) @ self._shares)

    def result(self) -> Array:
        """(steps, bands) in dB re full scale 1.0 squared, floored at FLOOR_DB; no steps for less than one window."""
        if not self._rows:
            return np.zeros((0, len(self.middles_hz)))
        powers = np.concatenate(self._rows, dtype=np.float64)
        middles_s = (np.arange(len(powers)) * self._hop + self._size / 2) / self._rate_hz
        steps = (middles_s / STEP_S).astype(np.int64)
        begins = np.flatnonzero(np.diff(steps, prepend=-1))
        counts = np.diff(begins, append=len(powers))
        means = np.add.reduceat(powers, begins, axis=0) / counts[:, None]
        return np.asarray(10 * np.log10(np.maximum(means, 10 ** (FLOOR_DB / 10))))


def _shares(size: int, rate_hz: int, middles_hz: Array) -> Array:
    """(bins, bands): the part of each line's width inside each band, and the scale from power to mean square."""
    bin_hz = rate_hz / size
    below = (np.arange(size // 2 + 1) - 0.5) * bin_hz
    low, high = middles_hz * 10**-0.15, middles_hz * 10**0.15
    inside = np.minimum(below[:, None] + bin_hz, high) - np.maximum(below[:, None], low)
    return np.asarray(np.maximum(inside, 0.0) / bin_hz * 2 / size**2)
