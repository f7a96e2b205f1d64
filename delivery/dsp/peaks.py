"""Search for the highest value between samples, looking closely only where it can be.

Three sieves, each from a bound and not from a guess. Let P be the height looked for.

1. A stretch is skipped when its largest sample times the interpolator's greatest gain stays under P.
2. In the rest the values half-way between samples are computed, in single precision. Around its highest point a
   wave band-limited to half the sampling rate falls no faster than the cosine of that rate (Bernstein). So if it
   reaches P inside an interval with ends a and b, d apart (the distance from sample to sample being pi), then
   a >= P cos(u) and b >= P cos(d - u) for some u: half-way values must satisfy a a + b b >= P P.
3. The same between quarters, where d is pi/4. What is left gets all 16 places, in double precision.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import ANY_ORDER, FUSED, compiled
from delivery.dsp.extremes import largest
from delivery.dsp.interpolation import BEFORE, PLACES, TAPS

Array = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

STRETCH = 256
MIDDLE, QUARTER = PLACES // 2, PLACES // 4
PAIRS = TAPS // 2
OVER = 1.0
COSINE = math.cos(math.pi / 4)
"""Cosine and sine of a quarter of the way from one sample to the next; they are equal."""
SINGLE_ERROR = 1e-5
"""More than 48 single-precision products can be wrong by, in units of the largest sample."""


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
def _squares(low: Singles, middle: Singles, high: Singles, spare: float, sums: Singles) -> None:
    """For each interval the larger sum of squares of the ends of its two halves; *spare* is added to every end."""
    add = np.float32(spare)
    for i in range(len(sums)):
        a, m, b = abs(low[i]) + add, abs(middle[i]) + add, abs(high[i]) + add
        sums[i] = m * m + max(a * a, b * b)


@compiled()
def _can_hold(one: float, other: float, sought: float, highest: float) -> bool:
    """Whether a quarter with these ends can reach *sought*, when nothing around is above *highest*."""
    if one * other <= 0.0:
        return False
    spare = highest - sought
    a, b = abs(one) + spare, abs(other) + spare
    if a >= highest or b >= highest:
        return True
    return a >= COSINE * highest and b >= COSINE * (a + math.sqrt(highest * highest - a * a))


@compiled()
def _closely(x: Array, at: int, rows: Array, sought: float, highest: float) -> tuple[float, int]:
    """Highest of the places of one interval, and which it is."""
    low, high = x[at + BEFORE], x[at + BEFORE + 1]
    centre = between(x, at, rows[MIDDLE])
    best, place = abs(low), 0
    if abs(centre) > best:
        best, place = abs(centre), MIDDLE
    spare = highest - sought
    for base in range(0, PLACES, MIDDLE):
        left, right = (low, centre) if base == 0 else (centre, high)
        a, b = abs(left) + spare, abs(right) + spare
        if left * right <= 0.0 or a * a + b * b < highest * highest:
            continue
        quarter = between(x, at, rows[base + QUARTER])
        if abs(quarter) > best:
            best, place = abs(quarter), base + QUARTER
        for start in range(base, base + MIDDLE, QUARTER):
            one, other = (left, quarter) if start == base else (quarter, right)
            if _can_hold(one, other, sought, highest):
                for p in range(start + 1, start + QUARTER):
                    value = abs(between(x, at, rows[p]))
                    if value > best:
                        best, place = value, p
    return best, place


@compiled()
def scan(
    x: Array, first: int, rows: Array, gain: float, peak: float, peak_at: int, over_at: Integers, over: Array
) -> tuple[float, int, int]:
    """Scan the intervals of one channel.

    Parameters
    ----------
    x : (TAPS - 1 + n,) samples, the last TAPS - 1 of the block before in front
    first : frame, counted from the file's start, with which the first of the n intervals begins
    rows, gain : from ``interpolation``
    peak, peak_at : highest value so far, full scale 1.0, and its place in sixteenths of a sample
    over_at, over : (n,) room for the place and height of every interval that goes above full scale

    Returns
    -------
    peak, peak_at, number of overs
    """
    row = rows[MIDDLE].astype(np.float32)
    single = np.empty(STRETCH + TAPS - 1, np.float32)
    middle, sums = np.empty(STRETCH, np.float32), np.empty(STRETCH, np.float32)
    intervals = len(x) - TAPS + 1
    overs = 0
    for start in range(0, intervals, STRETCH):
        count = min(STRETCH, intervals - start)
        around = single[: count + TAPS - 1]
        _narrow(x[start : start + count + TAPS - 1], around)
        highest = largest(around)
        if highest * gain <= min(peak, OVER):
            continue
        _middles(around, row, middle[:count])
        low = around[BEFORE : BEFORE + count]
        high = around[BEFORE + 1 : BEFORE + 1 + count]
        spare = max(peak - OVER, 0.0) + SINGLE_ERROR * highest
        _squares(low, middle[:count], high, spare, sums[:count])
        if largest(sums[:count]) < peak * peak:
            continue
        for i in range(count):
            if sums[i] < peak * peak:
                continue
            best, place = _closely(x, start + i, rows, min(peak, OVER), peak)
            at = (first + start + i) * PLACES + place
            if best > OVER:
                over_at[overs], over[overs] = at, best
                overs += 1
            if best > peak:
                peak, peak_at = best, at
    return peak, peak_at, overs
