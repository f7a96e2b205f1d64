"""Where sound begins, ends and pauses."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import compiled

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

STRETCH = 256
"""Pauses shorter than this inside a stretch are passed over; callers ask for far longer ones."""
FIRST, LAST, PAUSE, PAUSE_AT = 0, 1, 2, 3
PLACES = 4


@compiled()
def _above(planar: Array, i: int, threshold: float) -> bool:
    loud = False
    for c in range(planar.shape[0]):
        loud = loud or abs(planar[c, i]) > threshold
    return loud


@compiled()
def find_pauses(planar: Array, first: int, threshold: float, found: Integers) -> None:
    """Note first and last frame in which any channel is above *threshold*, and the longest pause between.

    Parameters
    ----------
    planar : (channels, frames)
    first : frame of planar[:, 0], counted from the file's start
    found : (PLACES,), kept between blocks; begin with FIRST and LAST at -1
    """
    frames = planar.shape[1]
    for start in range(0, frames, STRETCH):
        end = min(start + STRETCH, frames)
        i = start
        while i < end and not _above(planar, i, threshold):
            i += 1
        if i == end:
            continue
        if found[FIRST] < 0:
            found[FIRST] = first + i
        elif first + i - found[LAST] - 1 > found[PAUSE]:
            found[PAUSE] = first + i - found[LAST] - 1
            found[PAUSE_AT] = found[LAST] + 1
        i = end - 1
        while not _above(planar, i, threshold):
            i -= 1
        found[LAST] = first + i
