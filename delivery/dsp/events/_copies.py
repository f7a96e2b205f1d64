"""Loops that look for places where the sound repeats, or holds one value.

They work on samples in steps of 24 bits, from ``_breaks.milliseconds``: half as long as doubles. C types are declared
in ``_copies.pxd``.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.events.layout import AGAIN_AT, AGAIN_FRAMES, AGAIN_LAG, AGAIN_SEAM, LONGEST_LAG, SLOTS

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
    from delivery.dsp.uncompiled import report

    report()

Array = NDArray[np.float64]
Steps = NDArray[np.int32]
Stamps = NDArray[np.uint16]

SAME = 3.05 * 256.0
"""Two copies of a sample, each dithered to 16 bits, are no further apart than this."""
TOGETHER = 512
"""Samples searched for local maxima at a time."""
CELL_BITS = 11
"""Samples are looked up without their last bits: in cells of 1/4096."""
BY_ITSELF, BY_LAST, BY_NEXT = 3705, 6425, 5745
"""Factors of a hash of three neighbouring samples, chosen to spread the results evenly over the slots."""
INDEX_BITS = 16
SHORTEST_LAG = 32
LEAST_RANGE = 32.0 * SAME
OUTSIDE = 4
LEAST_SEAM = 8.0
STRIDE = 16
SHORTEST_HOLD = 48
BESIDE = 64
PEAK_BESIDE = 256


def repeats(x: Steps, begin: int, end: int, frame: int, slots: Stamps, found: Array) -> int:
    """Find buffers played twice in one channel: they equal earlier samples, and the samples beside them do not.

    At every local maximum three samples are looked up among the earlier ones.

    Parameters
    ----------
    x : from `milliseconds`, from two longest lags before *begin* to one after *end*
    begin, end : range in which local maxima are looked up
    frame : of ``x[0]``, counted from the file's start
    slots : (SLOTS,) kept from block to block; zeros at the start
    found : (n, AGAIN), the result: frame (of the file), length in frames, distance to the original, and the step at
        its seams in multiples of what counts as the same. Further ones are left out

    Returns
    -------
    How many rows were written.
    """
    room = np.empty((4, TOGETHER + 2), np.int32)
    with cython.nogil:
        return _repeats(x, begin, end, frame, slots, found, room)


def _repeats(x: Steps, begin: int, end: int, frame: int, slots: Stamps, found: Array, room: Steps) -> int:
    places, flags, maxima, lags = room[0], room[1], room[2], room[3]
    count = 0
    behind, first = begin, begin
    while first < end:
        few = _local_maxima(x, first, min(TOGETHER, end - first), places, flags, maxima)
        few = _looked_up(maxima, few, frame + first, slots, lags)
        for k in range(few):
            i, lag = first + maxima[k], lags[k]
            same = (_apart(x, i, i - lag) <= SAME) & (_apart(x, i + 1, i + 1 - lag) <= SAME)
            if same and i >= behind and count < len(found):
                after = _same(x, i, lag, 1)
                if after > 2 and after < LONGEST_LAG:
                    before = _same(x, i - 1, lag, -1)
                    if _is_repeat(x, i - before, i + after, lag, found[count]):
                        found[count, AGAIN_AT] = frame + i - before
                        count += 1
                        behind = i + after
        first += TOGETHER
    return count


def _local_maxima(x: Steps, first: int, count: int, places: Steps, flags: Steps, maxima: Steps) -> int:
    """Find the local maxima among *count* samples; for each, write its slot with its index in the upper bits.

    Two neighbours are never both maxima, so each pair is hashed once. Constants are copied: as globals, they could be
    what a loop writes to, and it would not become vectors. Returns how many were found.
    """
    itself, by_last, by_next = BY_ITSELF, BY_LAST, BY_NEXT
    cell, last, index = CELL_BITS, SLOTS - 1, INDEX_BITS
    pairs = (count + 1) // 2  # of an odd count, one sample more: looked up again later, at no distance
    for k in range(pairs):
        a, b, c, d = x[first + 2 * k - 1], x[first + 2 * k], x[first + 2 * k + 1], x[first + 2 * k + 2]
        late = (b < c) & (c >= d)
        before, now, after = b if late else a, c if late else b, d if late else c
        mixed = itself * (now >> cell) - by_last * (before >> cell) - by_next * (after >> cell)
        places[k] = (mixed & last) | ((2 * k + late) << index)
        flags[k] = late | ((a < b) & (b >= c))
    written = 0
    for k in range(pairs):  # a branch would be mispredicted
        maxima[written] = places[k]
        written += flags[k]
    return written


def _looked_up(maxima: Steps, few: int, first: int, slots: Stamps, lags: Steps) -> int:
    """Keep those *maxima* whose slot was last used within reach: their index, and the distance in *lags*.

    Frames are stamped by their last 16 bits. An old entry that looks new costs one comparison in vain.
    """
    count = 0
    index_bits, shortest, reach = INDEX_BITS, SHORTEST_LAG, LONGEST_LAG - SHORTEST_LAG
    for k in range(few):
        place, index = maxima[k] & 0xFFFF, maxima[k] >> index_bits
        stamp = (first + index) & 0xFFFF
        lag = (stamp - slots[place]) & 0xFFFF
        slots[place] = stamp
        maxima[count], lags[count] = index, lag
        count += (lag - shortest) & 0xFFFF <= reach
    return count


def _apart(x: Steps, i: int, j: int) -> float:
    difference: float = x[i] - x[j]
    return abs(difference)


def _height(x: Steps, i: int) -> float:
    value: float = x[i]
    return abs(value)


def _same(x: Steps, i: int, lag: int, step: int) -> int:
    """How many samples from *i* on equal those *lag* earlier; LONGEST_LAG at most."""
    count = 0
    while count < LONGEST_LAG and _apart(x, i + step * count, i + step * count - lag) <= SAME:
        count += 1
    return count


def _is_repeat(x: Steps, begin: int, end: int, lag: int, row: Array) -> bool:
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
        first = max(first, _apart(x, begin - 1 - i, begin - 1 - i - lag))
        last = max(last, _apart(x, end + i, end + i - lag))
    row[AGAIN_FRAMES], row[AGAIN_LAG], row[AGAIN_SEAM] = length, lag, min(first, last) / SAME
    return min(first, last) > LEAST_SEAM * SAME


def holds(x: Steps, begin: int, end: int, frame: int, found: Array) -> int:
    """Runs of one value, not zero and not at the top of the waveform, in moving sound. As `repeats`; no distance."""
    count = 0
    with cython.nogil:
        behind, i = begin, begin + (-(frame + begin) & (STRIDE - 1))  # by the file's frames, whatever the block
        while i < end:
            if _apart(x, i, i - STRIDE) <= SAME and i >= behind and _apart(x, i, i - STRIDE // 2) <= SAME:
                first, last = i, i
                while i - first < LONGEST_LAG and _apart(x, first - 1, i) <= SAME:
                    first -= 1
                while last - i < LONGEST_LAG and _apart(x, last + 1, i) <= SAME:
                    last += 1
                behind = last + 1
                if count < len(found) and _is_hold(x, first, last + 1, found[count]):
                    found[count, AGAIN_AT] = frame + first
                    count += 1
            i += STRIDE
    return count


def _is_hold(x: Steps, begin: int, end: int, row: Array) -> bool:
    length, value = end - begin, _height(x, (begin + end) // 2)
    if length < SHORTEST_HOLD or length >= LONGEST_LAG or value <= 4.0 * SAME:
        return False
    before = after = peak = 0.0
    for i in range(BESIDE):
        before += _apart(x, begin - 1 - i, begin - 2 - i) / BESIDE
        after += _apart(x, end + 1 + i, end + i) / BESIDE
    for i in range(PEAK_BESIDE):
        peak = max(peak, max(_height(x, begin - 1 - i), _height(x, end + i)))
    row[AGAIN_FRAMES], row[AGAIN_LAG], row[AGAIN_SEAM] = length, 0.0, min(before, after) / SAME
    return min(before, after) > LEAST_SEAM * SAME and peak > value + 2.0 * SAME
