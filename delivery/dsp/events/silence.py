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
LENGTH, BEGINS = 0, 1
BEFORE, BEHIND = 0, 1
"""Energies of what lies before the first and behind the last frame that is above."""


@compiled()
def _above(planar: Array, i: int, threshold: float) -> bool:
    loud = False
    for c in range(planar.shape[0]):
        loud = loud or abs(planar[c, i]) > threshold
    return loud


@compiled()
def _energy(planar: Array, start: int, end: int) -> float:
    total = 0.0
    for c in range(planar.shape[0]):
        for i in range(start, end):
            total += planar[c, i] * planar[c, i]
    return total


@compiled()
def _keep(pauses: Integers, length: int, begins: int) -> None:
    """Put a pause in place of the shortest one that is kept, when it is longer."""
    shortest = 0
    for row in range(1, len(pauses)):
        if pauses[row, LENGTH] < pauses[shortest, LENGTH]:
            shortest = row
    if length > pauses[shortest, LENGTH]:
        pauses[shortest, LENGTH], pauses[shortest, BEGINS] = length, begins


@compiled()
def find_pauses(
    planar: Array, first: int, threshold: float, least: int, found: Integers, pauses: Integers, energies: Array
) -> int:
    """Note first and last frame in which any channel is above *threshold*, and the pauses between.

    Parameters
    ----------
    planar : (channels, frames)
    first : frame of planar[:, 0], counted from the file's start
    least : pauses of so many frames are counted, and the longest are kept
    found : (PLACES,), kept between blocks; begin with FIRST and LAST at -1
    pauses : (n, 2) LENGTH and BEGINS of the longest pauses, in no order; zeros at the start, kept between blocks
    energies : (2,) BEFORE and BEHIND; zeros at the start, kept between blocks

    Returns
    -------
    How many pauses ended in this block.
    """
    frames = planar.shape[1]
    count = 0
    for start in range(0, frames, STRETCH):
        end = min(start + STRETCH, frames)
        i = start
        while i < end and not _above(planar, i, threshold):
            i += 1
        side = BEFORE if found[FIRST] < 0 else BEHIND
        if i > start and (side == BEFORE or i == end):
            energies[side] += _energy(planar, start, i)
        if i == end:
            continue
        pause = first + i - found[LAST] - 1
        if found[FIRST] < 0:
            found[FIRST] = first + i
        elif pause >= least:
            count += 1
            _keep(pauses, pause, found[LAST] + 1)
        if found[LAST] >= 0 and pause > found[PAUSE]:
            found[PAUSE], found[PAUSE_AT] = pause, found[LAST] + 1
        i = end - 1
        while not _above(planar, i, threshold):
            i -= 1
        found[LAST] = first + i
        energies[BEHIND] = _energy(planar, i + 1, end)
    return count
