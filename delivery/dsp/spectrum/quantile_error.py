"""Standard error of a level that all but a few windows stay under: the jackknife over long groups of windows.

The jackknife that leaves out one value fails for quantiles; one that leaves out groups much longer than the root of the
number of windows is consistent (Shao and Wu, "A General Theory for Jackknife Variance Estimation", 1989).
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

MOST_GROUPS, LEAST_GROUPS = 16, 4
GROUP_S, LEAST_GROUP_S = 4.0, 1.5
"""Windows closer than this may be alike, as those of one note are."""


def place_of(share: float, windows: int) -> int:
    """Row that *share* of all sorted windows stay under."""
    return min(round(share * (windows - 1)), windows - 1)


def level_error_db(powers: Array, share: float, duration_s: float) -> Array | None:
    """Standard error in dB of the power that *share* of the windows stay under, or None if there are too few.

    Parameters
    ----------
    powers : (windows, bands) in order of time
    duration_s : what they cover

    Returns
    -------
    (bands,)
    """
    groups = min(max(int(duration_s / GROUP_S), LEAST_GROUPS), MOST_GROUPS)
    if duration_s < groups * LEAST_GROUP_S or len(powers) < 2 * groups:
        return None
    ends = np.linspace(0, len(powers), groups + 1).astype(int)
    without = np.array([_level_db(np.delete(powers, np.s_[begin:end], axis=0), share) for begin, end in pairwise(ends)])
    spread = np.sum((without - without.mean(axis=0)) ** 2, axis=0)
    return np.asarray(np.sqrt((groups - 1) / groups * spread))


def _level_db(powers: Array, share: float) -> Array:
    place = place_of(share, len(powers))
    return np.asarray(10 * np.log10(np.maximum(np.partition(powers, place, axis=0)[place], 1e-30)))
