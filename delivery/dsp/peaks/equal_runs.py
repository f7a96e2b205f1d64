"""Runs of equal samples at a channel's own extreme: what is left where a waveform was cut off."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import compiled
from delivery.dsp.peaks.extremes import lowest_and_highest

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

STRETCH = 512
LEAST_RUN = 3
LEAST_STEP = 2.0**-13
"""A cut begins or ends with a step; the rounded top of a slow wave moves by single steps of 16 bits (2**-15)."""
KEPT = 10

EXTREME, BEFORE, ENTRY = 0, 1, 2
"""Floats of a side: its extreme so far, the sample before this block, the step up into the run that is open."""
RUN, START, COUNT, LONGEST, LISTED = 0, 1, 2, 3, 4
"""Whole numbers of a side: length and first frame of the open run; runs, the longest, and how many are listed."""
FLOATS, WHOLES = 3, 5


@compiled()
def _list(runs: Integers, listed: int, start: int, length: int, apart: int) -> int:
    """Keep the longest runs, one for each neighbourhood; rows are (first frame, length)."""
    shortest = 0
    for row in range(listed):
        if start - runs[row, 0] < apart:
            if length > runs[row, 1]:
                runs[row] = start, length
            return listed
        if runs[row, 1] < runs[shortest, 1]:
            shortest = row
    if listed < len(runs):
        runs[listed] = start, length
        return listed + 1
    if length > runs[shortest, 1]:
        runs[shortest] = start, length
    return listed


@compiled()
def close_run(step: float, floats: Array, wholes: Integers, runs: Integers, apart: int) -> None:
    """End the open run; it counts when it is long enough and has a step at its beginning or (*step*) at its end.

    The value it stands at must lie on the extreme's own side of zero, by LEAST_STEP: elsewhere it is silence.
    """
    length = wholes[RUN]
    cut = floats[EXTREME] >= LEAST_STEP  # a channel that never crosses zero has its silence at its extreme
    if cut and length >= LEAST_RUN and max(step, floats[ENTRY]) >= LEAST_STEP:
        wholes[COUNT] += 1
        wholes[LONGEST] = max(wholes[LONGEST], length)
        wholes[LISTED] = _list(runs, wholes[LISTED], wholes[START], length, apart)
    wholes[RUN] = 0


@compiled()
def _follow_side(
    x: Array, sign: float, first: int, floats: Array, wholes: Integers, runs: Integers, apart: int
) -> None:
    for i in range(len(x)):
        value = sign * x[i]
        extreme = floats[EXTREME]
        if value > extreme:  # a new extreme: what was found at the old one was no cut
            floats[EXTREME] = value
            floats[ENTRY] = value - floats[BEFORE]
            wholes[RUN], wholes[START] = 1, first + i
            wholes[COUNT] = wholes[LONGEST] = wholes[LISTED] = 0
        elif value == extreme:
            if wholes[RUN] == 0:
                wholes[START] = first + i
                floats[ENTRY] = value - floats[BEFORE]
            wholes[RUN] += 1
        elif wholes[RUN]:
            close_run(extreme - value, floats, wholes, runs, apart)
        floats[BEFORE] = value


@compiled()
def follow(x: Array, first: int, floats: Array, wholes: Integers, runs: Integers, apart: int) -> None:
    """Follow the highest and the lowest value of one channel.

    Parameters
    ----------
    x : (n,) samples
    first : frame of x[0], counted from the file's start
    floats, wholes, runs : (2, FLOATS), (2, WHOLES), (2, KEPT, 2), kept between blocks. Row 0 follows the highest value,
        row 1 the lowest, with its sign changed. Begin with EXTREME -inf, BEFORE nan, zeros elsewhere
    apart : runs that begin nearer than this many frames share one row of *runs*
    """
    for start in range(0, len(x), STRETCH):
        stretch = x[start : start + STRETCH]
        lowest, highest = lowest_and_highest(stretch)
        if wholes[0, RUN] or highest >= floats[0, EXTREME]:
            _follow_side(stretch, 1.0, first + start, floats[0], wholes[0], runs[0], apart)
        if wholes[1, RUN] or -lowest >= floats[1, EXTREME]:
            _follow_side(stretch, -1.0, first + start, floats[1], wholes[1], runs[1], apart)
        floats[0, BEFORE], floats[1, BEFORE] = stretch[-1], -stretch[-1]
