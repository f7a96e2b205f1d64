"""The low band of two channels, already decimated: summed as pairs after several low-passes at once."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.stereo._loops import low_sums as low_sums
from delivery.dsp.stereo._loops import numerator as numerator
from delivery.dsp.stereo.layout import LANES as LANES
from delivery.dsp.stereo.layout import NUMERATOR_HISTORY as NUMERATOR_HISTORY

Array = NDArray[np.float64]

COEFFICIENTS, ROWS = 5, 16


BINOMIAL = (1.0, 4.0, 6.0, 4.0, 1.0)
"""Numerator of every fourth-order Butterworth low-pass (bilinear transform); its sum is 16."""


def low_pass(frequency_hz: float, rate_hz: float) -> Array:
    """(5,): gain, and a1, a2 of both halves of a fourth-order Butterworth low-pass, without its numerator."""
    k = math.tan(math.pi * frequency_hz / rate_hz)
    a, c = (1 + 2 * k * math.cos(angle) + k * k for angle in (math.pi / 8, 3 * math.pi / 8))
    halves = [(2 * (k * k - 1) / a0, (2 + 2 * k * k - a0) / a0) for a0 in (a, c)]
    return np.array([k**4 / (a * c), *halves[0], *halves[1]])


def low_passes(frequencies_hz: Sequence[float], rate_hz: float) -> Array:
    """(ROWS, LANES) coefficients and state of up to LANES low-passes, for :func:`low_sums`; the state is zero."""
    rows = np.zeros((ROWS, LANES))
    for lane, frequency_hz in enumerate(frequencies_hz):
        rows[:COEFFICIENTS, lane] = low_pass(frequency_hz, rate_hz)
    return rows
