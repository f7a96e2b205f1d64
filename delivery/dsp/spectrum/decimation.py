"""Decimate the audio to about 1.4 to 2.4 kHz, for long windows on the bass, with the response of the filters."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.spectrum._loops import binomial, filtered

Array = NDArray[np.float64]

LEAST_HZ = 1200.0
"""Sample rate of the decimated copy, which is used up to 355 Hz."""
FOURFOLD = 4
BOXES = 4
"""Box filters in series before the first decimation: aliases onto 355 Hz are 93 dB down at 44.1 kHz."""
SECOND_TAPS = 48
SECOND_CUT, SECOND_BETA = 0.125, 8.0
"""Of the second filter: half its new rate, and Kaiser's window for 80 dB."""


@dataclass(frozen=True)
class Stage:
    """One decimation."""

    every: int
    taps: Array
    of_boxes: bool = False
    """From `_boxes`, which is a cascade of short filters as well."""

    def run(self, samples: Array, begin: int, out: Array, first: int, end: int) -> None:
        """Filter into columns *first* to *end* of *out*; the first of them takes *samples* from *begin* on."""
        if self.of_boxes:
            binomial(samples, begin, self.every, out, first, end)
        else:
            filtered(samples, begin, self.taps, self.every, out, first, end)


def stages(rate_hz: int) -> tuple[Stage, ...]:
    """Four boxes, then a sharper filter; none if the rate is already low."""
    whole = 2 ** max(math.floor(math.log2(rate_hz / LEAST_HZ)), 0)
    if whole < FOURFOLD:
        return ()
    n = np.arange(SECOND_TAPS) - (SECOND_TAPS - 1) / 2
    sharp = 2 * SECOND_CUT * np.sinc(2 * SECOND_CUT * n) * np.kaiser(SECOND_TAPS, SECOND_BETA)
    second = Stage(FOURFOLD, sharp / sharp.sum())
    first = whole // FOURFOLD
    return (Stage(first, _boxes(first), of_boxes=True), second) if first > 1 else (second,)


def _boxes(length: int) -> Array:
    """Boxes in a row, and means of two that make it four times *length* taps."""
    taps = np.ones(1)
    for width in (*(length,) * BOXES, *(2,) * (BOXES - 1)):
        taps = np.convolve(taps, np.full(width, 1 / width))
    return taps


class Decimator:
    """All stages for several channels, block by block."""

    def __init__(self, channels: int, rate_hz: int) -> None:
        self._stages = stages(rate_hz)
        self.rate_hz = rate_hz / math.prod(stage.every for stage in self._stages)
        self._source_hz = rate_hz
        self._waiting = [np.zeros((channels, 0)) for _ in self._stages]

    def take(self, samples: Array) -> Array:
        """(channels, n) of the decimated audio completed by these (channels, frames)."""
        for number, stage in enumerate(self._stages):
            samples, self._waiting[number] = _staged(samples, self._waiting[number], stage)
        return samples

    def response(self, frequencies_hz: Array) -> Array:
        """Power gain of all stages at these frequencies."""
        power, rate_hz = np.ones_like(frequencies_hz), float(self._source_hz)
        for stage in self._stages:
            places = np.arange(len(stage.taps)) - (len(stage.taps) - 1) / 2  # the taps are symmetrical: a pure delay
            power *= (np.cos(2 * np.pi * np.outer(frequencies_hz / rate_hz, places)) * stage.taps).sum(axis=1) ** 2
            rate_hz /= stage.every
        return power


def _staged(samples: Array, waiting: Array, stage: Stage) -> tuple[Array, Array]:
    """One stage: its output, and the samples kept for the next block. Only the seam between two blocks is copied."""
    held, frames, reach, every = waiting.shape[1], samples.shape[1], len(stage.taps), stage.every
    count = max((held + frames - reach) // every + 1, 0)
    found = np.empty((len(samples), count))
    seam = min(-(-held // every), count)
    if seam:
        joined = np.concatenate([waiting, samples[:, : reach + every]], axis=1)
        stage.run(joined, 0, found, 0, seam)
    if count > seam:
        stage.run(samples, seam * every - held, found, seam, count)
    used = count * every - held
    rest = samples[:, used:] if used >= 0 else np.concatenate([waiting[:, held + used :], samples], axis=1)
    return found, rest.copy()
