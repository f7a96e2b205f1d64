"""Loops that look for places where the sound is softer for some milliseconds, repeats, or holds one value.

C types are declared in ``_breaks.pxd``. Long sums are written as parallel lanes: compilers may not reorder
floating-point sums, so every processor gives the same figures.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.events.layout import (
    AGAIN_AT,
    AGAIN_FRAMES,
    AGAIN_LAG,
    AGAIN_SEAM,
    DIP_BEGINS,
    DIP_CHANGE,
    DIP_DEPTH,
    DIP_EARLIER,
    DIP_ENDS,
    DIP_FALLS,
    DIP_LATER,
    DIP_RISES,
    DIP_SLOPE,
    LONGEST_DIP,
    LONGEST_LAG,
    SLOTS,
)

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
    from numpy import floor, log10

    from delivery.dsp.uncompiled import report

    report()

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

LEAST = 1e-20
FALL = 10.0 ** (-9.0 / 10.0)
"""Share of the power before an edge that is left after it. Every power here is the mean square of one millisecond."""
BACK_UP = 10.0 ** (-5.0 / 10.0)
STILL_UP = 10.0 ** (-4.0 / 10.0)
LOUD = 10.0 ** (-45.0 / 10.0)
LEAST_DEPTH_DB = 8.0
EDGE = 14
NEAR, FAR = 10, 20
"""Milliseconds beside a dip, and beside those, whose powers are compared."""
NOW, LEAD = 3, 12

SAME = 3.05 / 32768.0
"""Two copies of a sample, each dithered to 16 bits, are no further apart than this."""
SUMMITS = 512
"""Samples searched for summits at a time."""
CELL = 4096.0
"""Steps of full scale to which samples are rounded to be looked up."""
BY_LAST, BY_NEXT = 104729.0, 611953.0
BY_ITSELF = 7919.0 + BY_LAST + BY_NEXT
"""Factors of three neighbours that spread them over the slots."""
SHORTEST_LAG = 32
LEAST_RANGE = 32.0 * SAME
OUTSIDE = 4
LEAST_SEAM = 8.0
STRIDE = 16
SHORTEST_HOLD = 48
BESIDE = 64
PEAK_BESIDE = 256


def milliseconds(x: Array, block: int, powers: Array, moves: Array) -> None:
    """Mean square of (1 + n * block,) samples and of their differences in each *block*: (n,) both."""
    with cython.nogil:
        for k in range(len(powers)):
            power, move = _squares(x, 1 + k * block, block)
            powers[k], moves[k] = power / block, move / block


def _squares(x: Array, begin: int, count: int) -> tuple[float, float]:
    """Sums of the squares of samples, and of their differences from the ones before."""
    a, b = [0.0] * 8, [0.0] * 8
    whole = count // 8 * 8
    for i in range(begin, begin + whole, 8):
        for k in range(8):
            a[k] += x[i + k] * x[i + k]
            b[k] += (x[i + k] - x[i + k - 1]) * (x[i + k] - x[i + k - 1])
    for i in range(begin + whole, begin + count):
        a[0] += x[i] * x[i]
        b[0] += (x[i] - x[i - 1]) * (x[i] - x[i - 1])
    for k in range(4):
        a[k], b[k] = a[k] + a[k + 4], b[k] + b[k + 4]
    return (a[0] + a[1]) + (a[2] + a[3]), (b[0] + b[1]) + (b[2] + b[3])


def _mean(x: Array, begin: int, end: int) -> float:
    total = 0.0
    for i in range(begin, end):
        total += x[i]
    mean: float = total / max(end - begin, 1)
    return mean


def _db(power: float) -> float:
    level: float = 10.0 * log10(max(power, LEAST))
    return level


def dips(powers: Array, moves: Array, begin: int, end: int, found: Array) -> int:
    """Passages that fall within some milliseconds and rise as fast, in one channel.

    Parameters
    ----------
    powers, moves : from `milliseconds`; at least DIP_BEFORE before *begin* and DIP_AFTER from *end* on
    begin, end : where dips may begin, as indices of *powers*
    found : (n, DIP), the result; see ``layout``. Further ones are left out

    Returns
    -------
    How many rows were written.
    """
    count = 0
    with cython.nogil:
        k = begin
        while k < end:
            usual = _mean(moves, k - LEAD - NEAR, k - LEAD)
            if _falls(moves, k, usual) and count < len(found) and _mean(powers, k - LEAD - NEAR, k - LEAD) > LOUD:
                back = k
                while back < k + LONGEST_DIP and moves[back] <= BACK_UP * usual:
                    back += 1
                if k + NOW <= back < k + LONGEST_DIP and _described(powers, moves, k, back, usual, found[count]):
                    count += 1
            k += 1
    return count


def _falls(moves: Array, k: int, usual: float) -> bool:
    """True if it is far below the usual from here on, and was not one millisecond earlier."""
    if _mean(moves, k, k + NOW) >= FALL * usual:
        return False
    earlier = _mean(moves, k - 1 - LEAD - NEAR, k - 1 - LEAD)
    return moves[k - 1] > BACK_UP * usual or _mean(moves, k - 1, k - 1 + NOW) >= FALL * earlier


def _described(powers: Array, moves: Array, k: int, back: int, usual: float, row: Array) -> bool:
    """Fill *row*; False if it is not deep."""
    begins, ends = k, back
    while begins > k - EDGE and moves[begins] < STILL_UP * usual:
        begins -= 1
    while ends < back + EDGE and moves[ends] < STILL_UP * usual:
        ends += 1
    quarter = max((back - k) // 4, 1)
    first, last = k + quarter, max(back - quarter, k + quarter + 1)
    third = max((max(back - 1, k + 2) - k - 1) // 3, 1)
    row[DIP_BEGINS], row[DIP_ENDS] = begins, ends
    row[DIP_FALLS], row[DIP_RISES] = k - begins, ends - back
    for kind in range(2):
        x = powers if kind else moves
        before, after = _mean(x, begins - 1 - NEAR, begins - 1), _mean(x, ends + 1, ends + 1 + NEAR)
        row[DIP_DEPTH + kind] = _db(min(before, after)) - _db(_mean(x, first, last))
        row[DIP_CHANGE + kind] = _db(after) - _db(before)
        row[DIP_EARLIER + kind] = _db(before) - _db(_mean(x, begins - 1 - NEAR - FAR, begins - 1 - NEAR))
        row[DIP_LATER + kind] = _db(after) - _db(_mean(x, ends + 1 + NEAR, ends + 1 + NEAR + FAR))
        behind = max(back - 1, k + 2)
        row[DIP_SLOPE + kind] = _db(_mean(x, k + 1, k + 1 + third)) - _db(_mean(x, behind - third, behind))
    return bool(row[DIP_DEPTH] > LEAST_DEPTH_DB and row[DIP_DEPTH + 1] > LEAST_DEPTH_DB)


def repeats(x: Array, begin: int, end: int, frame: int, slots: Integers, found: Array) -> int:
    """Buffers that come twice, in one channel: they equal what was a little earlier, and their neighbours do not.

    At every summit of the waveform three samples are looked up among the earlier ones.

    Parameters
    ----------
    x : from two longest lags before *begin* to one after *end*
    begin, end : which summits to look up
    frame : of ``x[0]``, counted from the file's start
    slots : (SLOTS,) kept from block to block; begin with a frame far before the file
    found : (n, AGAIN), the result: frame (of the file), length in frames, distance to the original, and the step at
        its seams in multiples of what counts as the same. Further ones are left out

    Returns
    -------
    How many rows were written.
    """
    cells, room = np.empty(SUMMITS + 2), np.empty((3, SUMMITS), np.int64)
    with cython.nogil:
        return _repeats(x, begin, end, frame, slots, found, cells, room)


def _repeats(
    x: Array, begin: int, end: int, frame: int, slots: Integers, found: Array, cells: Array, room: Integers
) -> int:
    summits, places, lags = room[0], room[1], room[2]
    count = 0
    behind, first = begin, begin
    while first < end:
        few = _summits(x, first, min(first + SUMMITS, end), cells, summits, places, lags)
        for k in range(_seen_before(x, first, few, frame, slots, summits, places, lags)):
            i, lag = summits[k], lags[k]
            if i >= behind and count < len(found):
                after = _same(x, i, lag, 1)
                if after > 2 and after < LONGEST_LAG:
                    before = _same(x, i - 1, lag, -1)
                    if _is_repeat(x, i - before, i + after, lag, found[count]):
                        found[count, AGAIN_AT] = frame + i - before
                        count += 1
                        behind = i + after
        first += SUMMITS
    return count


def _seen_before(
    x: Array, first: int, few: int, frame: int, slots: Integers, summits: Integers, places: Integers, lags: Integers
) -> int:
    """Keep the *summits* whose slot names a sample like them in reach, with their lags; without a branch for each."""
    count = 0
    for k in range(few):
        i, place = first + summits[k], places[summits[k]]
        lag = frame + i - slots[place]
        slots[place] = frame + i
        near = (lag >= SHORTEST_LAG) & (lag <= LONGEST_LAG)
        earlier = i - lag if near else i
        summits[count], lags[count] = i, lag
        count += near & (abs(x[i] - x[earlier]) <= SAME) & (abs(x[i + 1] - x[earlier + 1]) <= SAME)
    return count


def _summits(x: Array, begin: int, end: int, cells: Array, summits: Integers, places: Integers, flags: Integers) -> int:
    """Write the summits of the waveform, counted from *begin*, and the slot of every sample, in vectors."""
    last = SLOTS - 1
    for k in range(end - begin + 2):
        cells[k] = floor(x[begin - 1 + k] * CELL)
    for k in range(end - begin):
        mixed = int(BY_ITSELF * cells[k + 1] - BY_LAST * cells[k] - BY_NEXT * cells[k + 2])
        places[k] = mixed & last
    for k in range(end - begin):
        i = begin + k
        flags[k] = (x[i - 1] < x[i]) & (x[i] >= x[i + 1])
    count = 0
    for k in range(end - begin):  # without a branch: a summit in music is as hard to foresee as in noise
        summits[count] = k
        count += flags[k]
    return count


def _same(x: Array, i: int, lag: int, step: int) -> int:
    """How many samples from *i* on equal those *lag* earlier; LONGEST_LAG at most."""
    count = 0
    while count < LONGEST_LAG and abs(x[i + step * count] - x[i + step * count - lag]) <= SAME:
        count += 1
    return count


def _is_repeat(x: Array, begin: int, end: int, lag: int, row: Array) -> bool:
    """True if the run from *begin* to *end* is long, moves, and stops being equal at once on both sides."""
    length = end - begin
    if length < SHORTEST_LAG or 2 * length < lag or length >= LONGEST_LAG:
        return False
    low = high = x[begin]
    for i in range(begin, end):
        low, high = min(low, x[i]), max(high, x[i])
    if high - low < LEAST_RANGE:
        return False
    first = last = 0.0
    for i in range(OUTSIDE):
        first = max(first, abs(x[begin - 1 - i] - x[begin - 1 - i - lag]))
        last = max(last, abs(x[end + i] - x[end + i - lag]))
    row[AGAIN_FRAMES], row[AGAIN_LAG], row[AGAIN_SEAM] = length, lag, min(first, last) / SAME
    return min(first, last) > LEAST_SEAM * SAME


def holds(x: Array, begin: int, end: int, frame: int, found: Array) -> int:
    """Runs of one value, not zero and not at the top of the waveform, in moving sound. As `repeats`; no distance."""
    count = 0
    with cython.nogil:
        behind, i = begin, begin
        while i < end:
            if abs(x[i] - x[i - STRIDE]) <= SAME and i >= behind and abs(x[i] - x[i - STRIDE // 2]) <= SAME:
                first, last = i, i
                while i - first < LONGEST_LAG and abs(x[first - 1] - x[i]) <= SAME:
                    first -= 1
                while last - i < LONGEST_LAG and abs(x[last + 1] - x[i]) <= SAME:
                    last += 1
                behind = last + 1
                if count < len(found) and _is_hold(x, first, last + 1, found[count]):
                    found[count, AGAIN_AT] = frame + first
                    count += 1
            i += STRIDE
    return count


def _is_hold(x: Array, begin: int, end: int, row: Array) -> bool:
    length, value = end - begin, abs(x[(begin + end) // 2])
    if length < SHORTEST_HOLD or length >= LONGEST_LAG or value <= 4.0 * SAME:
        return False
    before = after = peak = 0.0
    for i in range(BESIDE):
        before += abs(x[begin - 1 - i] - x[begin - 2 - i]) / BESIDE
        after += abs(x[end + 1 + i] - x[end + i]) / BESIDE
    for i in range(PEAK_BESIDE):
        peak = max(peak, max(abs(x[begin - 1 - i]), abs(x[end + i])))
    row[AGAIN_FRAMES], row[AGAIN_LAG], row[AGAIN_SEAM] = length, 0.0, min(before, after) / SAME
    return min(before, after) > LEAST_SEAM * SAME and peak > value + 2.0 * SAME
