"""Levels of octave bands over time, for pictures of how a song's tone moves: fast, and no long-term figure."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.spectrum._short_powers import pair_powers
from delivery.dsp.spectrum.decimation import HalfBand
from delivery.dsp.spectrum.layout import SHORT_LANES, SHORT_SIZE

Array = NDArray[np.float64]
Singles = NDArray[np.float32]
Response = Callable[[Array], Array]

STEP_S = 0.1
"""One value in every band for so much time."""
FLOOR_DB = -120.0
OCTAVES = range(-4, 5)
"""63 Hz to 16 kHz: 1000 * 10**(3 k / 10) Hz, edges a factor of 10**(3/20) away (IEC 61260-1, base ten)."""
LOW_OCTAVES = 5
"""The lowest ones, up to 1.4 kHz, are read from a decimated copy."""
LOW_HOP, HIGH_HOP = SHORT_SIZE // 2, SHORT_SIZE * 3 // 4
LEAST_RATE_HZ = 8_000
"""At lower rates windows at the full rate would last longer than 0.13 s."""
HALVED_FROM_HZ = 90_000
HALVING_PAIRS = 8
"""Pairs of taps in the filters that halve such rates: aliases onto 16 kHz are 60 dB down at 96 kHz."""


def octave_middles_hz(rate_hz: int) -> Array:
    """Of the octaves whose upper third octave has its middle below half the sample rate."""
    middles = np.array([1000 * 10 ** (3 * k / 10) for k in OCTAVES])
    return middles[middles * 10**0.1 < 0.5 * rate_hz]


class BandLevels:
    """Mean square of each octave band, channels added up, in steps of 0.1 s.

    Windows of 1024 frames: up to 1.4 kHz at a decimated rate, where they last 0.11 to 0.21 s and overlap by half; above
    it at the sound's own rate, or the first half of it below 90 kHz, overlapping by a quarter. Single precision adds
    noise 140 dB below the sound, which is enough for levels down to FLOOR_DB.

    Parameters
    ----------
    rate_hz : LEAST_RATE_HZ or more
    low_hz : rate of the decimated copy, 4.8 to 9.6 kHz
    low_response : power gain of its decimation at frequencies in Hz
    """

    def __init__(self, rate_hz: int, channels: int, low_hz: float, low_response: Response) -> None:
        middles_hz = octave_middles_hz(rate_hz)
        self._halvings: list[HalfBand] = []
        while rate_hz / 2 ** len(self._halvings) > HALVED_FROM_HZ:
            self._halvings.append(HalfBand(channels, HALVING_PAIRS))
        self._rate_hz = rate_hz
        self._low = _Octaves(low_hz, channels, middles_hz[:LOW_OCTAVES], low_response, LOW_HOP)
        halved_hz = rate_hz / 2 ** len(self._halvings)
        self._high = _Octaves(halved_hz, channels, middles_hz[LOW_OCTAVES:], self._response, HIGH_HOP)

    def take(self, samples: Array, low: Singles) -> None:
        """The next (channels, frames) float64, full scale 1.0, and what they complete of the decimated copy."""
        self._low.take(low)
        if not self._halvings:
            self._high.take(samples)
            return
        singles = samples.astype(np.float32)
        for halving in self._halvings:
            singles = halving.take(singles)
        self._high.take(singles)

    def _response(self, frequencies_hz: Array) -> Array:
        """Power gain of the halvings, the alias of the last one included as if both were equally loud."""
        gains = [frequencies_hz * 0 + 1.0, frequencies_hz * 0]
        for number, each in enumerate(self._halvings):
            turn = 2 * np.pi * 2**number / self._rate_hz
            gains = [gains[0] * each.gain(turn * frequencies_hz), each.gain(np.pi - turn * frequencies_hz)]
        return np.asarray(gains[0] ** 2 + gains[1] ** 2)

    def result(self) -> Array:
        """(steps, bands) in dB re full scale 1.0 squared, floored at FLOOR_DB; no steps for less than one window."""
        low, high = self._low.in_steps(), self._high.in_steps()
        steps = min(len(low), len(high))
        powers = np.concatenate([low[:steps], high[:steps]], axis=1)
        return np.asarray(10 * np.log10(np.maximum(powers, 10 ** (FLOOR_DB / 10))))


class _Octaves:
    """Powers of some octaves in windows of SHORT_SIZE frames, every *hop* frames.

    Parameters
    ----------
    response : power gain that the sound has been through, at frequencies in Hz
    """

    def __init__(self, rate_hz: float, channels: int, middles_hz: Array, response: Response, hop: int) -> None:
        self._rate_hz, self._hop = rate_hz, hop
        self._rest = np.zeros((channels, 0), np.float32)
        self._window = flat_window(SHORT_SIZE, SHORT_SIZE - hop).astype(np.float32)
        turns = 2 * np.pi * np.arange(SHORT_SIZE) / SHORT_SIZE
        self._turns = np.array([np.cos(turns), np.sin(turns)], np.float32)
        hz = np.arange(SHORT_SIZE // 2 + 1) * rate_hz / SHORT_SIZE
        scale = 2 / SHORT_SIZE**2 / 2  # pair_powers are twice the squares
        shares = _shares(hz, middles_hz) * scale / response(hz)[:, None]
        self._shares = np.ascontiguousarray(shares.T, np.float32)
        self._rows = [np.zeros((0, len(middles_hz)), np.float32)]
        self._lines = np.empty((0, SHORT_SIZE // 2 + 1, SHORT_LANES), np.float32)
        """Kept from block to block: memory that is new each time takes a quarter longer."""

    def take(self, samples: Array | Singles) -> None:
        """The next (channels, frames)."""
        held = np.concatenate([self._rest, samples], axis=1, dtype=np.float32)
        count = max((held.shape[1] - SHORT_SIZE) // self._hop + 1, 0)
        if count:
            self._rows.append(self._powers(held, count))
        self._rest = held[:, count * self._hop :].copy()

    def _powers(self, held: Singles, count: int) -> Singles:
        """(count, bands) of the windows from the first frame on."""
        groups = -(-count // SHORT_LANES)
        if groups > len(self._lines):
            self._lines = np.empty((groups, SHORT_SIZE // 2 + 1, SHORT_LANES), np.float32)
        lines = self._lines[:groups]
        bands = np.zeros((groups, len(self._shares), SHORT_LANES), np.float32)
        for first in range(0, len(held), 2):
            second = held[first + 1] if first + 1 < len(held) else np.zeros_like(held[first])
            pair_powers(held[first], second, self._hop, self._window, self._turns, lines)
            bands += self._shares @ lines
        return bands.transpose(0, 2, 1).reshape(-1, len(self._shares))[:count]

    def in_steps(self) -> Array:
        """(steps, bands): the mean over each step, where every window stands for one hop around its middle."""
        powers = np.concatenate(self._rows, dtype=np.float64)
        if not powers.size:
            return powers
        ends_s = (np.arange(len(powers) + 1) * self._hop + (SHORT_SIZE - self._hop) / 2) / self._rate_hz
        steps = int((ends_s[-1] + ends_s[-2]) / 2 / STEP_S) + 1
        bounds_s = np.clip(np.arange(steps + 1) * STEP_S, ends_s[0], ends_s[-1])
        sums = np.concatenate([np.zeros((1, powers.shape[1])), np.cumsum(powers, axis=0)])
        gained = [np.diff(np.interp(bounds_s, ends_s, column)) for column in sums.T]
        windows = np.diff(bounds_s) * self._rate_hz / self._hop
        return np.asarray(np.array(gained).T / windows[:, None])


def flat_window(frames: int, overlap: int) -> Array:
    """Window of unit power. At this overlap its squares add up to a constant, so every hit counts the same.

    Slopes as in Vorbis I, 4.3.1, since their sidelobes fall quickly: below the treble lies bass 50 dB louder.
    """
    rising = np.sin(np.pi / 2 * np.sin(np.pi / 2 * (np.arange(overlap) + 0.5) / overlap) ** 2)
    window = np.concatenate([rising, np.ones(frames - 2 * overlap), rising[::-1]])
    return np.asarray(window / np.sqrt(np.mean(window**2)))


def _shares(lines_hz: Array, middles_hz: Array) -> Array:
    """(lines, bands): the part of each line's width inside each band."""
    width_hz = lines_hz[1]
    low, high = middles_hz * 10**-0.15, middles_hz * 10**0.15
    below = lines_hz[:, None] - width_hz / 2
    return np.asarray(np.maximum(np.minimum(below + width_hz, high) - np.maximum(below, low), 0.0) / width_hz)
