"""The edge at which a lossy coder stops: far steeper than a filter's, and at the same frequency at any later rate.

A coder that leaves out the coefficients above some frequency ends the band within two or three of them, some 50 Hz.
Converters of sample rate and filters take hundreds of Hz. No published method, own; limits tuned on coded music.
"""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

Array = NDArray[np.float64]

LOWEST_HZ, HIGHEST_HZ = 15_000.0, 20_600.0
"""Coders cut from 15 kHz (low bit rates) to 20.5 kHz; above that converters have their own edges."""
BELOW_HZ, ABOVE_HZ, BETWEEN_HZ = 300.0, 400.0, 50.0
"""The mean level from 300 to 50 Hz below an edge is compared with the highest from 50 to 400 Hz above it."""
LEAST_FALL_DB = 12.0
"""Converters from high rates to 44.1 kHz fall by up to 5.4 dB here, and sound without loss by 2; coders by 14 to 45."""


def coder_edge_hz(power: Array, bin_hz: float) -> float:
    """The steepest edge from LOWEST_HZ to HIGHEST_HZ in the mean *power* of bins; 0 if none is steep enough."""
    below, above, between = (round(hz / bin_hz) for hz in (BELOW_HZ, ABOVE_HZ, BETWEEN_HZ))
    first = round(LOWEST_HZ / bin_hz)
    end = min(round(HIGHEST_HZ / bin_hz), len(power) - above - 1)
    if end <= first:
        return 0.0
    levels_db = 10 * np.log10(np.maximum(power[first - below : end + above + 1], 1e-30))
    sums = np.concatenate([[0.0], np.cumsum(levels_db)])
    places = np.arange(below, below + end - first)
    means_db = (sums[places - between] - sums[places - below]) / (below - between)
    highest_db = sliding_window_view(levels_db, above - between + 1).max(axis=1)[places + between]
    falls_db = means_db - highest_db
    steepest = int(np.argmax(falls_db))
    return (first + steepest) * bin_hz if falls_db[steepest] >= LEAST_FALL_DB else 0.0
