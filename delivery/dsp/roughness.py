"""Where sound is rough for a moment: a cheap look at every sample, so that a dear one is only needed at few places.

A click or a jump has large first and third differences in one stretch and none beside it. Fourth powers tell a single
large difference from many middling ones, and add up without a branch.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import ANY_ORDER, compiled

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

FIRST, THIRD = 0, 1
LEAD = 3
"""Frames before a stretch that its differences reach back to."""
NEIGHBOURS = 14
"""Stretches on either side that must be smooth: 10 ms at 44.1 kHz."""
PROMINENT = 8.0
TRAIN_NEIGHBOURS = 6
TRAIN_PROMINENT = 4.0
TRAIN = 68
"""Stretches on either side in which others like it make it one of a train: a low sawtooth has a jump every 30 ms."""
ALIKE = 3.0**4
LEAST = 1e-24
"""Fourth power of -120 dBFS."""


STRETCH = 32
"""Frames at 44.1 and 48 kHz. A length known to the compiler is looked at eight times as fast."""


@compiled(fast=ANY_ORDER)
def roughness(samples: Array, times: int, first: Array, third: Array) -> None:
    """Sums of fourth powers of differences, for each stretch.

    Parameters
    ----------
    samples : (LEAD + stretches * times * STRETCH,) one channel
    first, third : (stretches,), the results
    """
    for k in range(len(first)):
        low = high = 0.0
        for t in range(times):
            row = samples[(k * times + t) * STRETCH : (k * times + t + 1) * STRETCH + LEAD]
            for i in range(STRETCH):
                one = row[i + 3] - row[i + 2]
                three = (row[i + 3] - row[i]) - 3.0 * (row[i + 2] - row[i + 1])
                low += one * one * one * one
                high += three * three * three * three
        first[k] = low
        third[k] = high


@compiled()
def _stands_out(rough: Array, k: int, neighbours: int, times: float) -> bool:
    """Whether it is *times* as rough as all but its next neighbours, and not softer than those."""
    if not (rough[k] >= LEAST and rough[k - 1] <= rough[k] and rough[k + 1] < rough[k]):
        return False
    least = rough[k] / times
    j = 2
    while j < neighbours and max(rough[k - j], rough[k + j]) < least:
        j += 1
    return j == neighbours


@compiled()
def _trains(rough: Array, k: int) -> int:
    """How many places like it are near it."""
    count = 0
    least = rough[k] / ALIKE
    for j in range(k - TRAIN, k + TRAIN + 1):
        if abs(j - k) > 2 and rough[j] > least and _stands_out(rough, j, TRAIN_NEIGHBOURS, TRAIN_PROMINENT):
            count += 1
    return count


@compiled()
def rough_places(first: Array, third: Array, begin: int, end: int, found: Integers) -> int:
    """Stretches from *begin* to *end* that stand out by either difference and are not of a train by both.

    There must be ``MARGIN`` stretches before *begin* and behind *end*. Returns how many rows were written into *found*,
    (end - begin, 3): the stretch, FIRST or THIRD (the difference that told it), and how many like it are near (0 or 1).
    """
    count = 0
    for k in range(begin, end):
        low, high = first[k] / PROMINENT, third[k] / PROMINENT
        if (low <= first[k - 2] or low <= first[k + 2]) and (high <= third[k - 2] or high <= third[k + 2]):
            continue  # nearly always
        for order in (FIRST, THIRD):
            rough = third if order == THIRD else first
            if _stands_out(rough, k, NEIGHBOURS, PROMINENT):
                alike = min(_trains(first, k), _trains(third, k))
                if alike < 2:
                    found[count, 0], found[count, 1], found[count, 2] = k, order, alike
                    count += 1
                break
    return count


MARGIN = TRAIN + TRAIN_NEIGHBOURS
