"""Search for the highest value between samples, looking closely only where it can be.

Three sieves, each from a bound and not from a guess:

1. A stretch is skipped when its largest sample times the interpolator's greatest gain stays under what is looked for.
2. In the rest the value half-way between samples is computed. Around its highest point a band-limited wave falls no
   faster than a cosine at half the sampling rate (Bernstein's inequality), so the two ends of an interval that holds
   a peak cannot both be low: their sum has a least value.
3. The same for quarters. What is left gets all 16 places.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import ANY_ORDER, compiled
from delivery.dsp.interpolation import BEFORE, PLACES, TAPS

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

STRETCH = 64
HALVES = math.cos(math.pi / 32) + math.cos(math.pi / 2 - math.pi / 32)
QUARTERS = math.cos(math.pi / 32) + math.cos(math.pi / 4 - math.pi / 32)
"""Least sum of the two ends, in units of the peak, for a peak at least 1/32 of a sample away from both."""
MIDDLE, QUARTER = PLACES // 2, PLACES // 4
PAIRS = TAPS // 2
OVER = 1.0


@compiled(fast=ANY_ORDER)
def _between(x: Array, at: int, row: Array) -> float:
    total = 0.0
    for k in range(TAPS):
        total += x[at + k] * row[k]
    return total


@compiled(fast=ANY_ORDER)
def _largest(x: Array, start: int, end: int) -> float:
    largest = 0.0
    for i in range(start, end):
        largest = max(largest, abs(x[i]))
    return largest


@compiled()
def _middles(x: Array, at: int, count: int, row: Array, middle: Array) -> None:
    """Half-way values of *count* intervals; the row is symmetric, and long rows of sums keep the processor fed."""
    for i in range(count):
        middle[i] = 0.0
    for k in range(0, PAIRS, 8):
        w0, w1, w2, w3, w4, w5, w6, w7 = (
            row[k],
            row[k + 1],
            row[k + 2],
            row[k + 3],
            row[k + 4],
            row[k + 5],
            row[k + 6],
            row[k + 7],
        )
        a, b = at + k, at + TAPS - 1 - k
        for i in range(count):
            middle[i] += (
                w0 * (x[a + i] + x[b + i])
                + w1 * (x[a + 1 + i] + x[b - 1 + i])
                + w2 * (x[a + 2 + i] + x[b - 2 + i])
                + w3 * (x[a + 3 + i] + x[b - 3 + i])
                + w4 * (x[a + 4 + i] + x[b - 4 + i])
                + w5 * (x[a + 5 + i] + x[b - 5 + i])
                + w6 * (x[a + 6 + i] + x[b - 6 + i])
                + w7 * (x[a + 7 + i] + x[b - 7 + i])
            )


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
    intervals = len(x) - TAPS + 1
    middle = np.empty(STRETCH)
    overs = 0
    for start in range(0, intervals, STRETCH):
        count = min(STRETCH, intervals - start)
        wanted = min(peak, OVER)
        if _largest(x, start, start + count + TAPS - 1) * gain <= wanted:
            continue
        _middles(x, start, count, rows[MIDDLE], middle)
        for i in range(count):
            wanted = min(peak, OVER)
            slack = max(peak, wanted)
            low = x[start + i + BEFORE]
            high = x[start + i + BEFORE + 1]
            centre = middle[i]
            best, place = abs(low), 0
            if abs(centre) > best:
                best, place = abs(centre), MIDDLE
            for half in range(2):
                left, right = (low, centre) if half == 0 else (centre, high)
                if left * right <= 0.0 or abs(left) + abs(right) <= 2 * wanted - slack * (2 - HALVES):
                    continue
                base = half * MIDDLE
                quarter = _between(x, start + i, rows[base + QUARTER])
                if abs(quarter) > best:
                    best, place = abs(quarter), base + QUARTER
                for part in range(2):
                    one, other = (left, quarter) if part == 0 else (quarter, right)
                    if one * other <= 0.0 or abs(one) + abs(other) <= 2 * wanted - slack * (2 - QUARTERS):
                        continue
                    for p in range(base + part * QUARTER + 1, base + (part + 1) * QUARTER):
                        value = abs(_between(x, start + i, rows[p]))
                        if value > best:
                            best, place = value, p
            at = (first + start + i) * PLACES + place
            if best > peak:
                peak, peak_at = best, at
            if best > OVER:
                over_at[overs] = at
                over[overs] = best
                overs += 1
    return peak, peak_at, overs
