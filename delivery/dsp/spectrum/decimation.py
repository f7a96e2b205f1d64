"""Decimate the audio to 1.2 to 2.4 kHz, for all that looks at low frequencies alone, with the response of the filters.

Single precision is enough for what is within 130 dB of the whole sound, and twice as fast.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.events._sibilance import halve
from delivery.dsp.spectrum._loops import binomial

Array = NDArray[np.float64]
Singles = NDArray[np.float32]

LEAST_HZ = 1200.0
"""Sample rate of the decimated copy, which is used up to 500 Hz."""
BOXES = 4
"""Box filters in series before all halvings but the last two: aliases onto 355 Hz are 92 dB down at 44.1 kHz."""
HALF_BAND_PAIRS, HALF_BAND_BETA = (4, 8), 7.9
"""Pairs of taps in the filters of the last two halvings: aliases onto 400 Hz are 70 dB down at the lowest rates, 80 at
44.1 kHz."""


def half_band(pairs: int, beta: float) -> Singles:
    """(pairs,) weights of the odd distances 1, 3, 5 ... from the middle, whose own weight is 0.5; Kaiser's window."""
    distance = np.arange(1, 2 * pairs, 2)
    weights = np.sinc(distance / 2) / 2 * np.i0(beta * np.sqrt(1 - (distance / (2 * pairs)) ** 2))
    return np.asarray(weights / (4 * weights.sum()), np.float32)


class HalfBand:
    """Halves the rate of several channels, block by block, by a filter of `half_band`."""

    def __init__(self, channels: int, pairs: int, beta: float = HALF_BAND_BETA) -> None:
        self._weights = half_band(pairs, beta)
        self._waiting = np.zeros((channels, 4 * pairs - 2), np.float32)

    def take(self, samples: Singles) -> Singles:
        """(channels, n) completed by these (channels, frames)."""
        held = np.concatenate([self._waiting, samples], axis=1)
        found = np.empty((len(held), held.shape[1] // 2 - 2 * len(self._weights) + 1), np.float32)
        for row, halved in zip(held, found, strict=True):
            halve(row, self._weights, halved)
        self._waiting = held[:, 2 * found.shape[1] :].copy()
        return found

    def gain(self, turns: Array) -> Array:
        """Gain of amplitude at these angles in radians per frame of what it takes."""
        odd = np.arange(1, 2 * len(self._weights), 2)
        return np.asarray(0.5 + 2 * np.cos(np.multiply.outer(turns, odd)) @ self._weights)


class Decimator:
    """Halves several channels, block by block, until their rate is 1.2 to 2.4 kHz.

    Every frame that comes out is computed from those before its own place alone: n frames are exactly n divided by the
    decimation, rounded down, whatever the blocks.
    """

    def __init__(self, channels: int, rate_hz: int) -> None:
        halvings = max(math.floor(math.log2(rate_hz / LEAST_HZ)), 0)
        sharp = min(halvings, len(HALF_BAND_PAIRS))
        self._source_hz, self.rate_hz = rate_hz, rate_hz / 2**halvings
        self._boxes = 2 ** (halvings - sharp)
        self._held = np.zeros((channels, (BOXES - 1) * (self._boxes - 1)))
        self._filters = [HalfBand(channels, pairs) for pairs in HALF_BAND_PAIRS[len(HALF_BAND_PAIRS) - sharp :]]
        self.twice = np.zeros((channels, 0), np.float32)
        """(channels, frames) that the last block completed at twice the rate, before the last halving."""
        self.four_times = self.twice
        """The same at four times the rate, of sources from 4.8 kHz on: behind the boxes alone."""

    def take(self, samples: Array) -> Singles:
        """(channels, n) of the decimated audio completed by these (channels, frames) float64."""
        found = self._behind_boxes(samples) if self._boxes > 1 else samples.astype(np.float32)
        self.four_times = found
        for each in self._filters:
            self.twice = found
            found = each.take(found)
        return found

    def _behind_boxes(self, samples: Array) -> Singles:
        """Boxes, which pass over every sample: only the seam between two blocks is copied."""
        every, reach = self._boxes, BOXES * (self._boxes - 1) + 1
        held, frames = self._held.shape[1], samples.shape[1]
        count = max((held + frames - reach) // every + 1, 0)
        found = np.empty((len(samples), count), np.float32)
        seam = min(-(-held // every), count)
        if seam:
            binomial(np.concatenate([self._held, samples[:, : reach + every]], axis=1), 0, every, found, 0, seam)
        if count > seam:
            binomial(samples, seam * every - held, every, found, seam, count)
        used = count * every - held
        rest = samples[:, used:] if used >= 0 else np.concatenate([self._held[:, held + used :], samples], axis=1)
        self._held = rest.copy()
        return found

    def response(self, frequencies_hz: Array) -> Array:
        """Power gain of all filters at these frequencies."""
        turns = self._turns(frequencies_hz)
        gain = self._boxes_gain(turns)
        for number, each in enumerate(self._filters):
            gain = gain * each.gain(2 * self._boxes * 2**number * turns)
        return np.asarray(gain**2)

    def response_four_times(self, frequencies_hz: Array) -> Array:
        """The same of the boxes alone, for `four_times`."""
        return np.asarray(self._boxes_gain(self._turns(frequencies_hz)) ** 2)

    def _turns(self, frequencies_hz: Array) -> Array:
        return np.pi * np.asarray(frequencies_hz, np.float64) / self._source_hz

    def _boxes_gain(self, turns: Array) -> Array:
        return np.asarray((np.sinc(self._boxes * turns / np.pi) / np.sinc(turns / np.pi)) ** BOXES)
