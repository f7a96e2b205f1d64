"""Extremes of long rows. A compiler may not reorder a maximum of floats by itself, but it may one of whole numbers.

The bits of a float, read as a whole number without its sign, are in the order of its magnitude (IEEE 754).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import compiled

Array = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

BARE, BARE_SINGLE = 0x7FFFFFFFFFFFFFFF, 0x7FFFFFFF
"""All bits but the sign."""


@compiled()
def largest(x: Array) -> float:
    """Largest magnitude; 0 of nothing."""
    bits = x.view(np.int64)
    top = 0
    for i in range(len(bits)):
        top = max(top, bits[i] & BARE)
    return float(np.int64(top).view(np.float64))


@compiled()
def widen(planar: Array, peaks: Array) -> None:
    """Raise *peaks*, one for each channel, to the largest magnitude of (channels, frames) samples."""
    for c in range(len(peaks)):
        peaks[c] = max(peaks[c], largest(planar[c]))


SPAN = 512


@compiled()
def count_above(planar: Array, rungs: Array, counts: Integers) -> None:
    """Add to *counts* how many samples have their magnitude above each rung and not above the one before it.

    Parameters
    ----------
    planar : (channels, frames)
    rungs : falling
    """
    lowest = rungs[-1]
    for c in range(len(planar)):
        row = planar[c]
        for at in range(0, len(row), SPAN):
            x = row[at : at + SPAN]
            if largest(x) > lowest:
                for i in range(len(x)):
                    height = abs(x[i])
                    if height > lowest:
                        rung = 0
                        while height <= rungs[rung]:
                            rung += 1
                        counts[rung] += 1


@compiled()
def largest_single(x: Singles) -> float:
    """Largest magnitude; 0 of nothing."""
    bits = x.view(np.int32)
    top = np.int32(0)
    for i in range(len(bits)):
        top = np.int32(max(top, np.int32(bits[i] & np.int32(BARE_SINGLE))))
    return float(np.int32(top).view(np.float32))


@compiled()
def lowest_and_highest(x: Array) -> tuple[float, float]:
    """Extremes of at least one sample; of both zeros the negative one counts as lower."""
    bits = x.view(np.int64)
    low, high = BARE, -BARE - 1
    for i in range(len(bits)):
        ordered = bits[i] ^ ((bits[i] >> 63) & BARE)
        low, high = min(low, ordered), max(high, ordered)
    lowest, highest = low ^ ((low >> 63) & BARE), high ^ ((high >> 63) & BARE)
    return float(np.int64(lowest).view(np.float64)), float(np.int64(highest).view(np.float64))
