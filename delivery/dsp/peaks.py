"""Search for the highest values between samples, looking closely only where they can be.

Each sieve is a bound and no guess (``interpolation.bounds``): between two known values of the waveform nothing is
higher than the larger one by more than a known share of the largest second difference around. Music bends little from
sample to sample, so that few places are left.

1. A stretch is skipped when its largest sample and its largest second difference cannot reach what is looked for.
2. In the rest the values half-way between samples are computed, in single precision, and the bound is half-way's.
3. What is left is halved again, and then gets all 16 places, in double precision.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import ANY_ORDER, FUSED, compiled
from delivery.dsp.extremes import largest, largest_single
from delivery.dsp.interpolation import BEFORE, NEAR, PLACES, TAPS

Array = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

STRETCH, FEW = 512, 128
CELLS_A_SECOND = 100
MIDDLE, QUARTER = PLACES // 2, PLACES // 4
PAIRS = TAPS // 2
NEAR_FROM, NEAR_TO = NEAR.start, NEAR.stop
HEIGHT, AT, CHANNEL = 0, 1, 2
FLOOR = 10 ** (-3 / 20)
"""Cells under -3 dBTP are only looked at where they may hold the peak of their second, or of their channel."""
SINGLE_ERROR = 1e-5
"""More than single precision can be wrong by here, in units of the largest sample."""


@compiled(fast=ANY_ORDER)
def between(x: Array, at: int, row: Array) -> float:
    """The value a row of weights gives from 48 samples on."""
    window = x[at : at + TAPS]
    total = 0.0
    for k in range(TAPS):
        total += window[k] * row[k]
    return total


@compiled()
def widen(planar: Array, peaks: Array) -> None:
    """Raise *peaks*, one for each channel, to the largest magnitude of (channels, frames) samples."""
    for c in range(len(peaks)):
        peaks[c] = max(peaks[c], largest(planar[c]))


@compiled()
def _narrow(x: Array, single: Singles) -> None:
    for i in range(len(single)):
        single[i] = np.float32(x[i])


@compiled()
def _middles(x: Singles, row: Singles, middle: Singles) -> None:
    """Values half-way between samples; the row is symmetric, and six pairs at a time keep the processor fed."""
    count = len(middle)
    last = TAPS - 1
    middle[:] = 0.0
    for k in range(0, PAIRS, 6):
        w0, w1, w2, w3, w4, w5 = row[k], row[k + 1], row[k + 2], row[k + 3], row[k + 4], row[k + 5]
        a0, b0 = x[k : k + count], x[last - k : last - k + count]
        a1, b1 = x[k + 1 : k + 1 + count], x[last - k - 1 : last - k - 1 + count]
        a2, b2 = x[k + 2 : k + 2 + count], x[last - k - 2 : last - k - 2 + count]
        a3, b3 = x[k + 3 : k + 3 + count], x[last - k - 3 : last - k - 3 + count]
        a4, b4 = x[k + 4 : k + 4 + count], x[last - k - 4 : last - k - 4 + count]
        a5, b5 = x[k + 5 : k + 5 + count], x[last - k - 5 : last - k - 5 + count]
        for i in range(count):
            middle[i] += (
                w0 * (a0[i] + b0[i])
                + w1 * (a1[i] + b1[i])
                + w2 * (a2[i] + b2[i])
                + w3 * (a3[i] + b3[i])
                + w4 * (a4[i] + b4[i])
                + w5 * (a5[i] + b5[i])
            )


@compiled(fast=FUSED | {"nnan", "nsz"})
def _bends(x: Singles, bends: Singles) -> None:
    """Second differences."""
    for i in range(len(bends)):
        bends[i] = (x[i] - x[i + 1]) - (x[i + 1] - x[i + 2])


@compiled(fast=FUSED | {"nnan", "nsz"})
def _ends(low: Singles, middle: Singles, high: Singles, ends: Singles) -> None:
    """The largest of the three known values of each interval."""
    for i in range(len(ends)):
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
    low, high = abs(x[at + BEFORE]), abs(x[at + BEFORE + 1])
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
    x: Array,
    begin: int,
    count: int,
    rows: Array,
    half_way: Singles,
    bounds: Array,
    sought: float,
    room: Singles,
) -> tuple[float, int]:
    """The highest place of *count* intervals from x[begin] on, where that is above *sought*; else *sought* and -1.

    *room* is (4, STRETCH + TAPS) to work in.
    """
    around, bends = room[0, : count + TAPS - 1], room[1, : count + TAPS - 3]
    middle, ends = room[2, :count], room[3, :count]
    _narrow(x[begin : begin + count + TAPS - 1], around)
    _bends(around, bends)
    top, bend = largest_single(around), largest_single(bends)
    error = SINGLE_ERROR * top
    if top + (bounds[0, 0] + bounds[0, 1]) * bend + bounds[0, 2] * top + error <= sought:
        return sought, -1
    _middles(around, half_way, middle)
    _ends(around[BEFORE:], middle, around[BEFORE + 1 :], ends)
    known = max(largest_single(around[BEFORE : BEFORE + count]), largest_single(middle))
    best, place = max(sought, known - error), -1
    half, quarter = bounds[1:, 1] * bend + bounds[1:, 2] * top + error
    most = half + bounds[1, 0] * bend
    for start in range(0, count, FEW):
        end = min(start + FEW, count)
        if largest_single(ends[start:end]) + most <= best:
            continue
        for i in range(start, end):
            if ends[i] + most > best:
                near = 0.0
                for k in range(NEAR_FROM, NEAR_TO):
                    near = max(near, abs(bends[i + k]))
                rise = half + bounds[1, 0] * near
                if ends[i] + rise > best:
                    fall = quarter + bounds[2, 0] * near
                    height, p = _closely(x, begin + i, rows, abs(middle[i]), best, rise, fall, error)
                    if p >= 0:
                        best, place = height, i * PLACES + p
    return best, place


@compiled()
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
    """Find the highest place of every channel, and that of each cell over all channels.

    Parameters
    ----------
    x : (channels, begin + n + TAPS - 1 or more) samples
    begin : where in *x* the window of the first of n intervals begins
    first : frame, counted from the file's start, with which that interval begins
    cell : number of the first cell, counted from the file's start
    ends : (cells,) where each ends, in intervals from the first; the last one is n
    rows, bounds : from ``interpolation``
    peaks : (channels, 2) HEIGHT and AT of the highest so far, full scale 1.0, in sixteenths of a sample; kept
    second : (1,) height of the highest in this second so far; kept
    cells : (cells, 3) the result: HEIGHT, AT and CHANNEL (from 1); height 0 where it is neither above FLOOR nor the
        highest of its second
    """
    room = np.empty((4, STRETCH + TAPS), np.float32)
    half_way = rows[MIDDLE].astype(np.float32)
    start = 0
    for k in range(len(ends)):
        if (cell + k) % CELLS_A_SECOND == 0:
            second[0] = 0.0
        cells[k] = 0.0
        for c in range(len(x)):
            for at in range(start, ends[k], STRETCH):
                count = min(STRETCH, ends[k] - at)
                sought = min(peaks[c, HEIGHT], max(cells[k, HEIGHT], min(FLOOR, second[0])))
                height, place = _highest(x[c], begin + at, count, rows, half_way, bounds, sought, room)
                if place < 0:
                    continue
                where = float((first + at) * PLACES + place)
                if height > peaks[c, HEIGHT]:
                    peaks[c] = height, where
                if height > cells[k, HEIGHT]:
                    cells[k] = height, where, float(c + 1)
        second[0] = max(second[0], cells[k, HEIGHT])
        start = ends[k]
