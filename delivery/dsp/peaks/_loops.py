"""Loops over every sample: extremes, runs at an extreme, and outlines.

C types are declared in ``_loops.pxd``. Maxima and long sums are written as parallel lanes: compilers may not
reorder floating-point operations, so every processor gives the same figures. An extreme has 32
lanes (C needs a constant), which hide the latency of a comparison. It is written ``a if a > b else b``, which compiles
to the maximum instruction; with ``>=`` the compiler compares and selects, at half the speed.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.peaks.layout import (
    BASE,
    BEFORE,
    COUNT,
    ENTRY,
    EXTREME,
    LISTED,
    LONGEST,
    NEAR_COUNT,
    NEAR_ENTRY,
    NEAR_LISTED,
    NEAR_LONGEST,
    NEAR_RUN,
    NEAR_START,
    RUN,
    SPAN,
    START,
    TOP,
)

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
    from delivery.dsp.uncompiled import report

    report()

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

LEAST_RUN = 3
LEAST_STEP = 2.0**-13
"""A clipped run begins or ends with a step; the rounded top of a slow wave moves by single 16-bit steps (2**-15)."""
NEARLY = 3.01 * 2.0**-15
"""A flat top with triangular dither of 16 bits, rounded, takes four neighbouring values."""
LEAST_NEAR_RUN = 4
LEAST_FALL, LEAST_FALL_BESIDE = 32.0 * 2.0**-15, 8.0 * 2.0**-15
"""How far the sound lies below a nearly flat top one sample beside it, on one side and on the other. A round top that
is as flat over four samples falls by a quarter of it."""


def largest(x: Array) -> float:
    """Largest magnitude; 0 for an empty array."""
    with cython.nogil:
        return _largest(x)


def _largest(x: Array) -> float:
    tops = [0.0] * 32
    whole = len(x) // 32 * 32
    for i in range(0, whole, 32):
        for k in range(32):
            height = abs(x[i + k])
            tops[k] = tops[k] if tops[k] > height else height
    for i in range(whole, len(x)):
        height = abs(x[i])
        tops[0] = tops[0] if tops[0] > height else height
    for k in range(16):
        tops[k] = tops[k] if tops[k] > tops[k + 16] else tops[k + 16]
    for k in range(8):
        tops[k] = tops[k] if tops[k] > tops[k + 8] else tops[k + 8]
    top = tops[0]
    for k in range(1, 8):
        top = top if top > tops[k] else tops[k]
    return top


def lowest_and_highest(x: Array) -> tuple[float, float]:
    """Lowest and highest of at least one sample."""
    with cython.nogil:
        return _lowest_and_highest(x)


def _lowest_and_highest(x: Array) -> tuple[float, float]:
    lows, highs = [0.0] * 32, [0.0] * 32
    for k in range(32):
        lows[k] = highs[k] = x[0]
    whole = len(x) // 32 * 32
    for i in range(0, whole, 32):
        for k in range(32):
            value = x[i + k]
            lows[k] = lows[k] if lows[k] < value else value
            highs[k] = highs[k] if highs[k] > value else value
    for i in range(whole, len(x)):
        value = x[i]
        lows[0] = lows[0] if lows[0] < value else value
        highs[0] = highs[0] if highs[0] > value else value
    low, high = lows[0], highs[0]
    for k in range(1, 32):
        low = low if low < lows[k] else lows[k]
        high = high if high > highs[k] else highs[k]
    return low, high


def span_extremes(planar: Array, lows: Array, highs: Array) -> None:
    """Lowest and highest of each SPAN samples of a channel; the last span may be shorter.

    Parameters
    ----------
    planar : (channels, frames)
    lows, highs : (channels, spans), the result
    """
    with cython.nogil:
        for c in range(len(planar)):
            for k in range(lows.shape[1]):
                end = min((k + 1) * SPAN, planar.shape[1])
                lows[c, k], highs[c, k] = _lowest_and_highest(planar[c, k * SPAN : end])


def count_above(planar: Array, lows: Array, highs: Array, rungs: Array, counts: Integers) -> None:
    """Add to *counts* the number of samples with a magnitude above each rung and not above the one before it.

    Parameters
    ----------
    planar : (channels, frames)
    lows, highs : from :func:`span_extremes`
    rungs : thresholds, full scale 1.0, falling
    """
    lowest = rungs[len(rungs) - 1]
    with cython.nogil:
        for c in range(len(planar)):
            for k in range(lows.shape[1]):
                if max(highs[c, k], -lows[c, k]) > lowest:
                    _count_above(planar[c, k * SPAN : min((k + 1) * SPAN, planar.shape[1])], rungs, counts)


def _count_above(row: Array, rungs: Array, counts: Integers) -> None:
    lowest = rungs[len(rungs) - 1]
    for i in range(len(row)):
        height = abs(row[i])
        if height > lowest:
            rung = 0
            while height <= rungs[rung]:
                rung += 1
            counts[rung] += 1


def outline(
    planar: Array, lows: Array, highs: Array, begin: int, first: int, width: int, low: Array, high: Array
) -> int:
    """Extend [low[k], high[k]] by the samples of the frames from k * width on; returns the frame at which it stopped.

    Parameters
    ----------
    planar : (channels, frames)
    lows, highs : from :func:`span_extremes`
    begin : first frame to be used of these
    first : frame of planar[:, 0], counted from the file's start
    low, high : one value for each *width* frames; begin with +inf and -inf
    """
    with cython.nogil:
        frames = min(planar.shape[1], len(low) * width - first)
        at = begin
        while at < frames:
            k = (first + at) // width
            end = min((k + 1) * width - first, frames)
            if at % SPAN == 0 and at + SPAN <= end:
                end = end // SPAN * SPAN
                for c in range(len(planar)):
                    for span in range(at // SPAN, end // SPAN):
                        low[k], high[k] = min(low[k], lows[c, span]), max(high[k], highs[c, span])
            else:
                end = min(end, (at // SPAN + 1) * SPAN)
                for c in range(len(planar)):
                    lowest, highest = _lowest_and_highest(planar[c, at:end])
                    low[k], high[k] = min(low[k], lowest), max(high[k], highest)
            at = end
    return frames


def _list(runs: Integers, listed: int, start: int, length: int, apart: int) -> int:
    """Store the longest runs, one for each neighbourhood; rows are (first frame, length)."""
    shortest = 0
    for row in range(listed):
        if start - runs[row, 0] < apart:
            if length > runs[row, 1]:
                runs[row, 0], runs[row, 1] = start, length
            return listed
        if runs[row, 1] < runs[shortest, 1]:
            shortest = row
    if listed < len(runs):
        runs[listed, 0], runs[listed, 1] = start, length
        return listed + 1
    if length > runs[shortest, 1]:
        runs[shortest, 0], runs[shortest, 1] = start, length
    return listed


def close_run(step: float, floats: Array, wholes: Integers, runs: Integers, apart: int) -> None:
    """End the open run; it counts if it is long enough and has a step at its beginning or (*step*) at its end.

    Its value must lie on the extreme's side of zero, by at least LEAST_STEP; otherwise it is silence.
    """
    with cython.nogil:
        _close_run(step, floats, wholes, runs, apart)


def _close_run(step: float, floats: Array, wholes: Integers, runs: Integers, apart: int) -> None:
    length = wholes[RUN]
    cut = floats[EXTREME] >= LEAST_STEP  # in a channel that never crosses zero, silence is its extreme
    if cut and length >= LEAST_RUN and max(step, floats[ENTRY]) >= LEAST_STEP:
        wholes[COUNT] += 1
        wholes[LONGEST] = max(wholes[LONGEST], length)
        wholes[LISTED] = _list(runs, wholes[LISTED], wholes[START], length, apart)
    wholes[RUN] = 0


def _follow_side(
    x: Array, sign: float, first: int, floats: Array, wholes: Integers, runs: Integers, apart: int
) -> None:
    for i in range(len(x)):
        value = sign * x[i]
        extreme = floats[EXTREME]
        if value > extreme:  # a new extreme: runs at the previous one were not clipped
            floats[EXTREME] = value
            floats[ENTRY] = value - floats[BEFORE]
            wholes[RUN], wholes[START] = 1, first + i
            wholes[COUNT] = wholes[LONGEST] = wholes[LISTED] = 0
        elif value == extreme:
            if wholes[RUN] == 0:
                wholes[START] = first + i
                floats[ENTRY] = value - floats[BEFORE]
            wholes[RUN] += 1
        elif wholes[RUN] != 0:
            _close_run(extreme - value, floats, wholes, runs, apart)
        floats[BEFORE] = value


def _close_near_run(fall: float, floats: Array, wholes: Integers, runs: Integers, apart: int) -> None:
    length = wholes[NEAR_RUN]
    deep, shallow = max(fall, floats[NEAR_ENTRY]), min(fall, floats[NEAR_ENTRY])
    if length >= LEAST_NEAR_RUN and deep >= LEAST_FALL and shallow >= LEAST_FALL_BESIDE:
        wholes[NEAR_COUNT] += 1
        wholes[NEAR_LONGEST] = max(wholes[NEAR_LONGEST], length)
        wholes[NEAR_LISTED] = _list(runs, wholes[NEAR_LISTED], wholes[NEAR_START], length, apart)
    wholes[NEAR_RUN] = 0


def _follow_near_side(
    x: Array, sign: float, first: int, floats: Array, wholes: Integers, runs: Integers, apart: int
) -> None:
    """Runs within NEARLY of the extreme; when this has risen by more since they were counted, counting begins again."""
    before = floats[BEFORE]
    for i in range(len(x)):
        value = sign * x[i]
        if value > floats[TOP]:
            if value - floats[BASE] > NEARLY:
                floats[BASE] = value
                wholes[NEAR_RUN] = wholes[NEAR_COUNT] = wholes[NEAR_LONGEST] = wholes[NEAR_LISTED] = 0
            floats[TOP] = value
        fall = floats[TOP] - value
        if fall <= NEARLY:
            if wholes[NEAR_RUN] == 0:
                wholes[NEAR_START] = first + i
                floats[NEAR_ENTRY] = floats[TOP] - before
            wholes[NEAR_RUN] += 1
        elif wholes[NEAR_RUN] != 0:
            _close_near_run(fall, floats, wholes, runs, apart)
        before = value


def follow(
    x: Array,
    lows: Array,
    highs: Array,
    first: int,
    floats: Array,
    wholes: Integers,
    runs: Integers,
    near_runs: Integers,
    apart: int,
) -> None:
    """Track the highest and the lowest value of one channel, with runs of equal and of nearly equal samples there.

    Parameters
    ----------
    x : (n,) samples
    lows, highs : (spans,) of these, from :func:`span_extremes`
    first : frame of x[0], counted from the file's start
    floats, wholes, runs, near_runs : (2, FLOATS), (2, WHOLES), (2, KEPT, 2) twice, kept between blocks. Row 0 follows
        the highest value, row 1 the lowest, with its sign changed. Begin with EXTREME, TOP and BASE -inf, BEFORE nan,
        zeros elsewhere
    apart : runs that begin nearer than this many frames share one row of *runs*
    """
    with cython.nogil:
        for k in range(len(lows)):
            start, end = k * SPAN, min((k + 1) * SPAN, len(x))
            lowest, highest = lows[k], highs[k]
            if wholes[0, NEAR_RUN] != 0 or highest >= floats[0, TOP] - NEARLY:
                _follow_near_side(x[start:end], 1.0, first + start, floats[0], wholes[0], near_runs[0], apart)
            if wholes[1, NEAR_RUN] != 0 or -lowest >= floats[1, TOP] - NEARLY:
                _follow_near_side(x[start:end], -1.0, first + start, floats[1], wholes[1], near_runs[1], apart)
            if wholes[0, RUN] != 0 or highest >= floats[0, EXTREME]:
                _follow_side(x[start:end], 1.0, first + start, floats[0], wholes[0], runs[0], apart)
            if wholes[1, RUN] != 0 or -lowest >= floats[1, EXTREME]:
                _follow_side(x[start:end], -1.0, first + start, floats[1], wholes[1], runs[1], apart)
            floats[0, BEFORE], floats[1, BEFORE] = x[end - 1], -x[end - 1]
