"""Search for the highest values between samples, looking closely only where they can be.

Each sieve is a bound and no guess (``interpolation.bounds``): between two known values of the waveform nothing is
higher than the larger one by more than a known share of the largest second difference around. Music bends little from
sample to sample, so that few places are left.

1. A stretch is skipped when its largest sample and its largest second difference cannot reach what is looked for; so
   is each part of a stretch.
2. In the rest the values half-way between samples are computed, in single precision, and the bound is half-way's.
3. What is left is halved again, and then gets all 16 places, in double precision.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import ANY_ORDER, FUSED, compiled
from delivery.dsp.peaks.extremes import largest, largest_single
from delivery.dsp.peaks.interpolation import NEAR, PLACES

Array = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

STRETCH, FEW = 1024, 256
"""Frames in a stretch and in a part of one."""
CELLS_A_SECOND = 100
MIDDLE, QUARTER = PLACES // 2, PLACES // 4
TWELVE = 12
HEIGHT, AT, CHANNEL = 0, 1, 2
FLOOR = 10 ** (-3 / 20)
"""Cells under -3 dBTP are only looked at where they may hold the peak of their second, or of their channel."""
SINGLE_ERROR = 1e-5
"""More than single precision can be wrong by here, in units of the largest sample."""


@compiled(fast=ANY_ORDER)
def between(x: Array, at: int, row: Array) -> float:
    """The value a row of weights gives from sample *at* on."""
    window = x[at : at + len(row)]
    total = 0.0
    for k in range(len(row)):
        total += window[k] * row[k]
    return total


@compiled()
def _narrow(x: Array, single: Singles) -> None:
    for i in range(len(single)):
        single[i] = np.float32(x[i])


@compiled()
def _middles(x: Singles, row: Singles, middle: Singles) -> None:
    """FEW values half-way between samples; the row is symmetric, and twelve pairs at once keep the processor fed."""
    middle[:FEW] = np.float32(0.0)
    for k in range(0, len(row) // 2, TWELVE):
        v0, v1, v2, v3, v4, v5 = row[k], row[k + 1], row[k + 2], row[k + 3], row[k + 4], row[k + 5]
        w0, w1, w2, w3, w4, w5 = row[k + 6], row[k + 7], row[k + 8], row[k + 9], row[k + 10], row[k + 11]
        a, b = x[k : k + FEW + 11], x[len(row) - 12 - k : len(row) - 1 - k + FEW]
        for i in range(FEW):
            middle[i] += (
                (v0 * (a[i] + b[i + 11]) + v1 * (a[i + 1] + b[i + 10]))
                + (v2 * (a[i + 2] + b[i + 9]) + v3 * (a[i + 3] + b[i + 8]))
                + (v4 * (a[i + 4] + b[i + 7]) + v5 * (a[i + 5] + b[i + 6]))
                + (w0 * (a[i + 6] + b[i + 5]) + w1 * (a[i + 7] + b[i + 4]))
                + (w2 * (a[i + 8] + b[i + 3]) + w3 * (a[i + 9] + b[i + 2]))
                + (w4 * (a[i + 10] + b[i + 1]) + w5 * (a[i + 11] + b[i]))
            )


@compiled(fast=FUSED | {"nnan", "nsz"})
def _bends(x: Singles, bends: Singles) -> None:
    """Second differences."""
    for i in range(len(bends)):
        bends[i] = (x[i] - x[i + 1]) - (x[i + 1] - x[i + 2])


@compiled(fast=FUSED | {"nnan", "nsz"})
def _ends(low: Singles, middle: Singles, high: Singles, ends: Singles) -> None:
    """The largest of the three known values of each interval."""
    for i in range(len(middle)):
        ends[i] = max(abs(middle[i]), max(abs(low[i]), abs(high[i])))


@compiled()
def _closely(
    x: Array, at: int, rows: Array, centre: float, sought: float, half: float, quarter: float, error: float
) -> tuple[float, int]:
    """The highest place of one interval and which it is, where that is above *sought*; else *sought* and -1.

    *centre* is the value half-way as single precision has it, wrong by *error* at most; *half* and *quarter* are what
    may be added to the larger of two values that are so far apart.
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
    for base in range(0, PLACES, MIDDLE):
        left, right = (low, centre) if base == 0 else (centre, high)
        if max(left, right) + half <= best:
            continue
        value = abs(between(x, at, rows[base + QUARTER]))
        if value > best:
            best, place = value, base + QUARTER
        for start in range(base, base + MIDDLE, QUARTER):
            one, other = (left, value) if start == base else (value, right)
            if max(one, other) + quarter <= best:
                continue
            for p in range(start + 1, start + QUARTER):
                height = abs(between(x, at, rows[p]))
                if height > best:
                    best, place = height, p
    return best, place


@compiled()
def _highest(
    x: Array, top: float, rows: Array, half_way: Singles, bounds: Array, sought: float, room: Singles
) -> tuple[float, int]:
    """The highest place of the intervals *x* has whole windows for, where it is above *sought*; else *sought* and -1.

    *room* is (4, STRETCH + taps + FEW) to work in; its first row begins with *x*, of which *top* is the largest.
    """
    taps = rows.shape[1]
    lead, count = taps // 2 - 1, len(x) - taps + 1
    around, bends = room[0, : len(x)], room[1, : len(x) - 2]
    middle, ends = room[2, :FEW], room[3, :FEW]
    _bends(around, bends)
    bend = largest_single(bends)
    error = SINGLE_ERROR * top
    rest = bounds[:, 1] * bend + bounds[:, 2] * top + error
    if top + bounds[0, 0] * bend + rest[0] <= sought:
        return sought, -1
    best, place = max(sought, largest_single(around[lead : lead + count]) - error), -1
    for start in range(0, count, FEW):
        few = min(FEW, count - start)
        samples = room[0, start + lead : start + lead + few + 1]
        bent = largest_single(bends[start + lead - NEAR : start + lead + few - 1 + NEAR])
        if largest_single(samples) + bounds[0, 0] * bent + rest[0] <= best:
            continue
        _middles(room[0, start : start + FEW + taps - 1], half_way, middle)
        _ends(samples, middle[:few], samples[1:], ends)
        best = max(best, largest_single(middle[:few]) - error)
        most = rest[1] + bounds[1, 0] * bent
        if largest_single(ends[:few]) + most <= best:
            continue
        for i in range(few):
            if ends[i] + most > best:
                near = 0.0
                for k in range(start + i + lead - NEAR, start + i + lead + NEAR):
                    near = max(near, abs(bends[k]))
                rise = rest[1] + bounds[1, 0] * near
                if ends[i] + rise > best:
                    fall = rest[2] + bounds[2, 0] * near
                    height, p = _closely(x, start + i, rows, abs(middle[i]), best, rise, fall, error)
                    if p >= 0:
                        best, place = height, (start + i) * PLACES + p
    return best, place


@compiled()
def _summit(x: Array, at: int, place: int, rows: Array) -> float:
    """The height of the waveform's summit by *place* of the interval that begins with sample *at*, by longer rows."""
    lead = rows.shape[1] // 2 - 1
    centre = at * PLACES + place
    middle = between(x, centre // PLACES - lead, rows[centre % PLACES])
    sign = 1.0 if middle >= 0.0 else -1.0
    middle *= sign
    first = middle
    left = sign * between(x, (centre - 1) // PLACES - lead, rows[(centre - 1) % PLACES])
    right = sign * between(x, (centre + 1) // PLACES - lead, rows[(centre + 1) % PLACES])
    for _ in range(PLACES // 2):
        if max(left, right) <= middle:
            break
        step = 1 if right > left else -1
        centre += step
        beyond = sign * between(x, (centre + step) // PLACES - lead, rows[(centre + step) % PLACES])
        left, middle, right = (middle, right, beyond) if step > 0 else (beyond, left, middle)
    bend = 2.0 * middle - left - right
    summit = first  # of a flank that rises into the next cell there is none here
    if middle >= max(left, right):
        summit = middle + (right - left) * (right - left) / (8.0 * bend) if bend > 0.0 else middle
    return float(max(summit, max(abs(x[at]), abs(x[at + 1]))))


@compiled()
def look_again(x: Array, origin: int, found: Array, channels: Integers, rows: Array) -> None:
    """Give what *scan* found the heights that longer rows give, between places too.

    Parameters
    ----------
    x : (channels, samples), with half of the longer rows' taps and one sample around every place
    origin : frame of the file that x begins with
    found : (n, 2 or more) HEIGHT and AT, as ``scan`` gives them; heights of 0 stay
    channels : (n,) from 0, of each
    """
    for k in range(len(found)):
        if found[k, HEIGHT] > 0.0:
            at = np.int64(found[k, AT])
            found[k, HEIGHT] = _summit(x[channels[k]], at // PLACES - origin, at % PLACES, rows)


@compiled()
def scan(
    x: Array,
    begin: int,
    first: int,
    cell: int,
    ends: Integers,
    rows: Array,
    bounds: Array,
    sample_peaks: Array,
    peaks: Array,
    second: Array,
    cells: Array,
) -> None:
    """Find the highest place of every channel, and that of each cell over all channels.

    Parameters
    ----------
    x : (channels, begin + n + taps - 1 or more) samples
    begin : where in *x* the window of the first of n intervals begins
    first : frame, counted from the file's start, with which that interval begins
    cell : number of the first cell, counted from the file's start
    ends : (cells,) where each ends, in intervals from the first; the last one is n
    rows, bounds : from ``interpolation``
    sample_peaks : (channels,) largest magnitude of a sample so far; kept
    peaks : (channels, 2) HEIGHT and AT of the highest so far, full scale 1.0, in sixteenths of a sample; kept
    second : (1,) height of the highest in this second so far; kept
    cells : (cells, 3) the result: HEIGHT, AT and CHANNEL (from 1); height 0 where it is neither above FLOOR nor the
        highest of its second
    """
    taps = rows.shape[1]
    room = np.zeros((4, STRETCH + taps + FEW), np.float32)
    half_way = rows[MIDDLE].astype(np.float32)
    start = 0
    for k in range(len(ends)):
        if (cell + k) % CELLS_A_SECOND == 0:
            second[0] = 0.0
        cells[k] = 0.0
        for c in range(len(x)):
            for at in range(start, ends[k], STRETCH):
                count = min(STRETCH, ends[k] - at)
                window = x[c, begin + at : begin + at + count + taps - 1]
                _narrow(window, room[0, : len(window)])
                top = largest_single(room[0, : len(window)])
                if top * (1 + SINGLE_ERROR) > sample_peaks[c]:
                    sample_peaks[c] = max(sample_peaks[c], largest(window))
                sought = min(peaks[c, HEIGHT], max(cells[k, HEIGHT], min(FLOOR, second[0])))
                height, place = _highest(window, top, rows, half_way, bounds, sought, room)
                if place < 0:
                    continue
                where = float((first + at) * PLACES + place)
                if height > peaks[c, HEIGHT]:
                    peaks[c] = height, where
                if height > cells[k, HEIGHT]:
                    cells[k] = height, where, float(c + 1)
        second[0] = max(second[0], cells[k, HEIGHT])
        start = ends[k]
