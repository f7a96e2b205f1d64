"""The search for the highest values between samples; ``between_samples`` describes it.

C types are declared in ``_search.pxd``. Maxima and long sums are written as parallel lanes, as in ``_loops``.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.peaks.interpolation import NEAR, PLACES
from delivery.dsp.peaks.layout import (
    AT,
    CELLS_A_SECOND,
    CHANNEL,
    HEIGHT,
)

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
    from delivery.dsp.uncompiled import report

    report()

Array = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

STRETCH, FEW = 1024, 16
"""Frames in a stretch and in a part of one."""
MIDDLE, QUARTER = PLACES // 2, PLACES // 4
FLOOR = 10.0 ** (-3.0 / 20.0)
"""Cells below -3 dBTP are examined only if they may contain the peak of their second or of their channel."""
SINGLE_ERROR = 1e-5
"""Bound on the error of single precision here, in units of the largest sample."""


def largest_single(x: Singles) -> float:
    """Largest magnitude; 0 for an empty array."""
    with cython.nogil:
        return _largest_single(x, 0, len(x))


def _largest_single(x: Singles, begin: int, end: int) -> float:
    tops = [0.0] * 32
    if end - begin < 32:
        for i in range(begin, end):
            height = abs(x[i])
            tops[0] = tops[0] if tops[0] > height else height
        return tops[0]
    for i in range(begin, end - 31, 32):
        for k in range(32):
            height = abs(x[i + k])
            tops[k] = tops[k] if tops[k] > height else height
    for k in range(32):  # the rest, with some of what was seen already
        height = abs(x[end - 32 + k])
        tops[k] = tops[k] if tops[k] > height else height
    return _top(tops)


def _top(tops: list[float]) -> float:
    """Largest of 32 lanes."""
    for k in range(16):
        tops[k] = tops[k] if tops[k] > tops[k + 16] else tops[k + 16]
    for k in range(8):
        tops[k] = tops[k] if tops[k] > tops[k + 8] else tops[k + 8]
    for k in range(4):
        tops[k] = tops[k] if tops[k] > tops[k + 4] else tops[k + 4]
    left = tops[0] if tops[0] > tops[2] else tops[2]
    right = tops[1] if tops[1] > tops[3] else tops[3]
    return left if left > right else right


def between(x: Array, at: int, row: Array) -> float:
    """Weighted sum of the samples from *at* on; the number of weights is a multiple of eight."""
    sums = [0.0] * 8
    for j in range(0, len(row), 8):
        for k in range(8):
            sums[k] += x[at + j + k] * row[j + k]
    return ((sums[0] + sums[1]) + (sums[2] + sums[3])) + ((sums[4] + sums[5]) + (sums[6] + sums[7]))


def _narrow(x: Array, at: int, count: int, single: Singles) -> float:
    """Single precision of *count* samples; returns the largest magnitude of these."""
    tops = [0.0] * 32
    if count < 32:
        for i in range(count):
            single[i] = x[at + i]
        return _largest_single(single, 0, count)
    for i in range(0, count - 31, 32):
        for k in range(32):
            value = x[at + i + k]
            single[i + k] = value
            height = abs(value)
            tops[k] = tops[k] if tops[k] > height else height
    last = count - 32
    for k in range(32):  # the rest, with some of what was seen already
        value = x[at + last + k]
        single[last + k] = value
        height = abs(value)
        tops[k] = tops[k] if tops[k] > height else height
    return _top(tops)


def _middles(x: Singles, at: int, row: Singles, middle: Singles) -> None:
    """FEW values half-way between samples; the row is symmetric; twelve pairs at once hide additions' latency."""
    sums = [0.0] * 16
    for k in range(0, len(row) // 2, 12):
        v0, v1, v2, v3, v4, v5 = row[k], row[k + 1], row[k + 2], row[k + 3], row[k + 4], row[k + 5]
        w0, w1, w2, w3, w4, w5 = row[k + 6], row[k + 7], row[k + 8], row[k + 9], row[k + 10], row[k + 11]
        a, b = at + k, at + len(row) - 12 - k
        for i in range(16):
            sums[i] += (
                (
                    (v0 * (x[a + i] + x[b + i + 11]) + v1 * (x[a + i + 1] + x[b + i + 10]))
                    + (v2 * (x[a + i + 2] + x[b + i + 9]) + v3 * (x[a + i + 3] + x[b + i + 8]))
                )
                + (v4 * (x[a + i + 4] + x[b + i + 7]) + v5 * (x[a + i + 5] + x[b + i + 6]))
                + (
                    (w0 * (x[a + i + 6] + x[b + i + 5]) + w1 * (x[a + i + 7] + x[b + i + 4]))
                    + (w2 * (x[a + i + 8] + x[b + i + 3]) + w3 * (x[a + i + 9] + x[b + i + 2]))
                )
                + (w4 * (x[a + i + 10] + x[b + i + 1]) + w5 * (x[a + i + 11] + x[b + i]))
            )
    for i in range(16):
        middle[i] = sums[i]


def _second_differences(x: Singles, count: int, bends: Singles) -> None:
    """Their magnitudes."""
    for i in range(count):
        bends[i] = abs((x[i] - x[i + 1]) - (x[i + 1] - x[i + 2]))


def _largest_of_eight(x: Singles, count: int, twos: Singles, eights: Singles) -> None:
    """Of x[i] to x[i + 7], in *eights*; *twos* is overwritten."""
    for i in range(count + 6):
        twos[i] = x[i] if x[i] > x[i + 1] else x[i + 1]
    for i in range(count + 4):
        eights[i] = twos[i] if twos[i] > twos[i + 2] else twos[i + 2]
    for i in range(count):
        eights[i] = eights[i] if eights[i] > eights[i + 4] else eights[i + 4]


def _limits(x: Singles, at: int, count: int, near: Singles, share: float, limits: Singles) -> None:
    """What the waveform from x[at + i] to the next sample cannot exceed, but for what lies farther away."""
    for i in range(count):
        low, high = abs(x[at + i]), abs(x[at + i + 1])
        limits[i] = (low if low > high else high) + share * near[i]


def _tighten(x: Singles, at: int, middle: Singles, near: Singles, start: int, share: float, limits: Singles) -> None:
    """The same for FEW of them, from *start* on, where the value half-way is known."""
    for i in range(16):
        low, high, centre = abs(x[at + i]), abs(x[at + i + 1]), abs(middle[i])
        side = low if low > high else high
        limits[start + i] = (side if side > centre else centre) + share * near[start + i]


def _above(x: Singles, at: int, level: float) -> int:
    """Number of the FEW values that are above *level*."""
    above = 0
    for i in range(16):
        above += x[at + i] > level
    return above


def _closely(
    x: Array, at: int, rows: Array, centre: float, sought: float, half: float, quarter: float, error: float
) -> tuple[float, int]:
    """Highest value of one interval and its place, if above *sought*; else *sought* and -1.

    *centre* is the value half-way in single precision, with an error of *error* at most; *half* and *quarter* bound
    how far the waveform exceeds the larger of two values at that distance.
    """
    best, place = sought, -1
    begin = at + rows.shape[1] // 2 - 1
    low, high = abs(x[begin]), abs(x[begin + 1])
    if low > best:
        best, place = low, 0
    if centre + error > best:
        centre = abs(between(x, at, rows[MIDDLE]))
        if centre > best:
            best, place = centre, MIDDLE
    for side in range(2):
        base = side * MIDDLE
        left, right = (low if side == 0 else centre), (centre if side == 0 else high)
        if max(left, right) + half <= best:
            continue
        value = abs(between(x, at, rows[base + QUARTER]))
        if value > best:
            best, place = value, base + QUARTER
        for part in range(2):
            start = base + part * QUARTER
            one, other = (left if part == 0 else value), (value if part == 0 else right)
            if max(one, other) + quarter <= best:
                continue
            for p in range(start + 1, start + QUARTER):
                height = abs(between(x, at, rows[p]))
                if height > best:
                    best, place = height, p
    return best, place


def _highest(
    x: Array,
    at: int,
    count: int,
    top: float,
    rows: Array,
    half_way: Singles,
    bounds: Array,
    sought: float,
    room: Singles,
) -> tuple[float, int]:
    """Highest value and place over *count* intervals with windows from x[at] on, if above *sought*; else that and -1.

    *room* is a work array of (5, STRETCH + taps + FEW); its first row holds these samples, the largest of which is
    *top*.
    """
    around, bends, near, limits, middle = room[0], room[1], room[2], room[3], room[4]
    taps = rows.shape[1]
    lead, held = taps // 2 - 1, count + taps - 1
    _second_differences(around, held - 2, bends)
    bend = _largest_single(bends, 0, held - 2)
    error = SINGLE_ERROR * top
    rest_0 = bounds[0, 1] * bend + bounds[0, 2] * top + error
    rest_1 = bounds[1, 1] * bend + bounds[1, 2] * top + error
    rest_2 = bounds[2, 1] * bend + bounds[2, 2] * top + error
    if top + bounds[0, 0] * bend + rest_0 <= sought:
        return sought, -1
    best, place = max(sought, _largest_single(around, lead, lead + count) - error), -1
    _largest_of_eight(bends[lead - NEAR :], count, middle, near)
    _limits(around, lead, count, near, bounds[0, 0], limits)
    start = -FEW
    while start + FEW < count:
        start += FEW
        if _above(limits, start, best - rest_0) == 0:
            continue
        _middles(around, start, half_way, middle)
        _tighten(around, lead + start, middle, near, start, bounds[1, 0], limits)
        if _above(limits, start, best - rest_1) == 0:
            continue
        few = min(FEW, count - start)
        for i in range(few):
            best = max(best, abs(middle[i]) - error)
        for i in range(few):
            if limits[start + i] + rest_1 > best:
                bent = near[start + i]
                rise, fall = rest_1 + bounds[1, 0] * bent, rest_2 + bounds[2, 0] * bent
                height, p = _closely(x, at + start + i, rows, abs(middle[i]), best, rise, fall, error)
                if p >= 0:
                    best, place = height, (start + i) * PLACES + p
    return best, place


def _summit(x: Array, at: int, place: int, rows: Array) -> float:
    """Height of the waveform's maximum near *place* of the interval that begins at sample *at*; longer filter."""
    lead = rows.shape[1] // 2 - 1
    centre = at * PLACES + place
    middle = between(x, centre // PLACES - lead, rows[centre % PLACES])
    sign = 1.0 if middle >= 0.0 else -1.0
    middle *= sign
    first = middle
    left = sign * between(x, (centre - 1) // PLACES - lead, rows[(centre - 1) % PLACES])
    right = sign * between(x, (centre + 1) // PLACES - lead, rows[(centre + 1) % PLACES])
    for _ in range(MIDDLE):
        if max(left, right) <= middle:
            break
        step = 1 if right > left else -1
        centre += step
        beyond = sign * between(x, (centre + step) // PLACES - lead, rows[(centre + step) % PLACES])
        if step > 0:
            left, middle, right = middle, right, beyond
        else:
            right, middle, left = middle, left, beyond
    bend = 2.0 * middle - left - right
    summit = first  # a slope that rises into the next cell has its maximum there
    if middle >= max(left, right):
        summit = middle + (right - left) * (right - left) / (8.0 * bend) if bend > 0.0 else middle
    highest: float = max(summit, max(abs(x[at]), abs(x[at + 1])))
    return highest


def look_again(x: Array, origin: int, found: Array, channels: Integers, rows: Array) -> None:
    """Recompute the heights that *scan* found with the longer filter, also between its places.

    Parameters
    ----------
    x : (channels, samples), with half of the longer filter's taps and one sample around every place
    origin : frame of the file at which *x* begins
    found : (n, 2 or more) HEIGHT and AT, as ``scan`` returns them; heights of 0 stay unchanged
    channels : (n,) channel of each, from 0
    """
    with cython.nogil:
        for k in range(len(found)):
            if found[k, HEIGHT] > 0.0:
                at = int(found[k, AT])
                found[k, HEIGHT] = _summit(x[channels[k]], at // PLACES - origin, at % PLACES, rows)


def scan(
    x: Array,
    begin: int,
    first: int,
    cell: int,
    ends: Integers,
    rows: Array,
    bounds: Array,
    peaks: Array,
    second: Array,
    cells: Array,
) -> None:
    """Find the highest value of every channel, and of each cell over all channels.

    Parameters
    ----------
    x : (channels, begin + n + taps - 1 or more) samples
    begin : where in *x* the window of the first of n intervals begins
    first : frame, counted from the file's start, at which that interval begins
    cell : number of the first cell, counted from the file's start
    ends : (cells,) end of each, in intervals from the first; the last one is n
    rows, bounds : from ``interpolation``
    peaks : (channels, 2) HEIGHT and AT of the highest so far, full scale 1.0, in sixteenths of a sample; kept
    second : (1,) height of the highest in this second so far; kept
    cells : (cells, 3) the result: HEIGHT, AT and CHANNEL (from 1); height 0 if it is neither above FLOOR nor the
        highest of its second
    """
    room = np.zeros((5, STRETCH + rows.shape[1] + FEW), np.float32)
    half_way = np.asarray(rows[MIDDLE], np.float32)
    with cython.nogil:
        _scan(x, begin, first, cell, ends, rows, bounds, peaks, second, cells, room, half_way)


def _scan(
    x: Array,
    begin: int,
    first: int,
    cell: int,
    ends: Integers,
    rows: Array,
    bounds: Array,
    peaks: Array,
    second: Array,
    cells: Array,
    room: Singles,
    half_way: Singles,
) -> None:
    taps = rows.shape[1]
    start = 0
    for k in range(len(ends)):
        if (cell + k) % CELLS_A_SECOND == 0:
            second[0] = 0.0
        cells[k, HEIGHT] = cells[k, AT] = cells[k, CHANNEL] = 0.0
        for c in range(len(x)):
            at = start
            while at < ends[k]:
                count = min(STRETCH, ends[k] - at)
                top = _narrow(x[c], begin + at, count + taps - 1, room[0])
                sought = min(peaks[c, HEIGHT], max(cells[k, HEIGHT], min(FLOOR, second[0])))
                height, place = _highest(x[c], begin + at, count, top, rows, half_way, bounds, sought, room)
                if place >= 0:
                    where = (first + at) * PLACES + place
                    if height > peaks[c, HEIGHT]:
                        peaks[c, HEIGHT], peaks[c, AT] = height, where
                    if height > cells[k, HEIGHT]:
                        cells[k, HEIGHT], cells[k, AT], cells[k, CHANNEL] = height, where, c + 1
                at += STRETCH
        second[0] = max(second[0], cells[k, HEIGHT])
        start = ends[k]
