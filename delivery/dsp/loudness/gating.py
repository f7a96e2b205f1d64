"""From powers to loudness: windows, gates, percentiles. ITU-R BS.1770-5 Annex 1; EBU Tech 3341, Tech 3342."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

OFFSET_LUFS = -0.691
ABSOLUTE_GATE_LUFS = -70.0
RELATIVE_GATE_LU = -10.0
RANGE_GATE_LU = -20.0
RANGE_PERCENTILES = (0.10, 0.95)
FLOOR_LUFS = -120.0
"""Lower values are set to this: curves hold no infinities."""


def loudness_lufs(power: Array) -> Array:
    """Loudness of channel-weighted mean squares, floored at FLOOR_LUFS."""
    lowest = power_of(FLOOR_LUFS)
    return OFFSET_LUFS + 10 * np.log10(np.maximum(power, lowest))


def power_of(lufs: float) -> float:
    """Weighted mean square of a loudness in LUFS (BS.1770-5)."""
    return float(10 ** ((lufs - OFFSET_LUFS) / 10))


def sliding_sums(values: Array, width: int) -> Array:
    """Sums over every window of *width* neighbours, one for each place where a whole window fits.

    Each is summed separately: differences of a running total would lose the precision of quiet windows.
    """
    count = max(len(values) - width + 1, 0)
    sums = values[:count].copy()
    for k in range(1, width):
        sums += values[k : k + count]
    return sums


def gated_loudness_lufs(powers: Sequence[float] | Array) -> float | None:
    """Gated loudness of 400 ms blocks, of one file or of an album; None if no block exceeds the absolute gate."""
    blocks = np.asarray(powers, dtype=np.float64)
    loud = blocks[blocks > power_of(ABSOLUTE_GATE_LUFS)]
    if not len(loud):
        return None
    gate = loud.mean() * 10 ** (RELATIVE_GATE_LU / 10)
    return float(loudness_lufs(loud[loud > gate].mean()))


def loudness_range_lu(powers: Array) -> float | None:
    """Tech 3342: spread of gated short-term loudness; None if nothing exceeds the absolute gate."""
    loud = powers[powers >= power_of(ABSOLUTE_GATE_LUFS)]
    if not len(loud):
        return None
    kept = np.sort(loud[loud >= loud.mean() * 10 ** (RANGE_GATE_LU / 10)])
    low, high = (kept[int((len(kept) - 1) * share + 0.5)] for share in RANGE_PERCENTILES)
    return float(loudness_lufs(high) - loudness_lufs(low))
