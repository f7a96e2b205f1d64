"""The outline of a waveform in few values, whatever its length."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import compiled
from delivery.dsp.peaks.extremes import lowest_and_highest

Array = NDArray[np.float64]


@compiled()
def outline(planar: Array, first: int, width: int, low: Array, high: Array) -> int:
    """Widen [low[k], high[k]] by every sample of frames k * width on; returns how many frames fitted.

    Parameters
    ----------
    planar : (channels, frames)
    first : frame of planar[:, 0], counted from the file's start
    low, high : room for as many values as fit; begin with +inf and -inf
    """
    frames: int = min(planar.shape[1], len(low) * width - first)
    at = 0
    while at < frames:
        k = (first + at) // width
        end = min((k + 1) * width - first, frames)
        for c in range(planar.shape[0]):
            lowest, highest = lowest_and_highest(planar[c, at:end])
            low[k], high[k] = min(low[k], lowest), max(high[k], highest)
        at = end
    return frames


def halved(low: Array, high: Array) -> tuple[Array, Array]:
    """Every two neighbours joined; the same length, the second half empty again."""
    empty = np.full(len(low) // 2, np.inf)
    lows, highs = low.reshape(-1, 2).min(axis=1), high.reshape(-1, 2).max(axis=1)
    return np.concatenate([lows, empty]), np.concatenate([highs, -empty])
