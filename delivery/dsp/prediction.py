"""Linear prediction around one moment: is it a fault of a few samples, or how the music goes?

What order 12 predicts from before and behind a suspicious moment is taken away; a click or a jump leaves a short, high
peak in what remains. It is no fault where the remainder rings on (a drum's attack), where other peaks near it are as
high, where sound before and behind are of two kinds (a note begins), or where the top is cut flat. Source of the
method: S. V. Vaseghi, detection of impulsive noise by inverse filtering, as textbooks tell it; limits are tuned here.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import ANY_ORDER, compiled

Array = NDArray[np.float64]

ORDER = 12
HALF = 512
"""Frames on either side at 44.1 and 48 kHz."""
BEFORE, BEHIND = 10, 26
"""Frames around the moment that the prediction does not learn from."""
PEAK, SIGMA, FAR, RING, OTHERNESS, FLAT, STAYS, AT = 0, 1, 2, 3, 4, 5, 6, 7
FINDINGS = 8
LEAST_SIGMA = 2.0**-24
LEAST_ENERGY = 1e-30
RINGS = 90
SETTLES = 19
"""A fault of up to five samples leaves its edges and what the filter makes of them, on either side of the peak."""
BEGINS = 0.2
"""Of the peak: where a fault of several samples begins before it."""


@compiled(fast=ANY_ORDER)
def _covariance(x: Array, begin: int, end: int, sums: Array) -> None:
    """Products of the sound with itself, 0 to ORDER frames late; along a diagonal only the ends differ."""
    for k in range(ORDER + 1):
        total = 0.0
        for n in range(begin, end):
            total += x[n] * x[n - k]
        sums[0, k] = total
        sums[k, 0] = total
    for j in range(ORDER):
        for k in range(j, ORDER):
            moved = x[begin - 1 - j] * x[begin - 1 - k] - x[end - 1 - j] * x[end - 1 - k]
            sums[j + 1, k + 1] = sums[j, k] + moved
            sums[k + 1, j + 1] = sums[j + 1, k + 1]


@compiled()
def _predictor(sums: Array, filter: Array) -> None:
    """Least squares by Cholesky's method; a little is added to the diagonal, for tones and silence."""
    lower = np.zeros((ORDER, ORDER))
    solved = np.zeros(ORDER)
    trace = 0.0
    for j in range(1, ORDER + 1):
        trace += sums[j, j]
    little = 1e-9 * trace / ORDER + LEAST_ENERGY
    for i in range(ORDER):
        for j in range(i + 1):
            rest = sums[i + 1, j + 1]
            for k in range(j):
                rest -= lower[i, k] * lower[j, k]
            if i == j:
                lower[i, i] = np.sqrt(max(rest + little, LEAST_ENERGY))
            else:
                lower[i, j] = rest / lower[j, j]
        rest = sums[0, i + 1]
        for k in range(i):
            rest -= lower[i, k] * solved[k]
        solved[i] = rest / lower[i, i]
    filter[0] = 1.0
    for i in range(ORDER - 1, -1, -1):
        rest = solved[i]
        for k in range(i + 1, ORDER):
            rest += lower[k, i] * filter[k + 1]
        filter[i + 1] = -rest / lower[i, i]


@compiled()
def _error(sums: Array, filter: Array) -> float:
    total = 0.0
    for j in range(ORDER + 1):
        for k in range(ORDER + 1):
            total += filter[j] * sums[j, k] * filter[k]
    return max(total, 0.0)


@compiled()
def _flat_top(x: Array, at: int, highest: float) -> int:
    """Longest run of equal samples near *at* that are near the highest of all."""
    longest = run = 0
    for n in range(at - 20, at + 20):
        run = run + 1 if x[n] == x[n - 1] and abs(x[n]) > 0.9 * highest else 0
        longest = max(longest, run)
    return longest


@compiled()
def _stays(x: Array, at: int, filter: Array) -> float:
    """What is left, 8 to 13 frames on, of how far the sound departed from what had been expected: little of a click."""
    ahead = np.zeros(ORDER + 14)
    for j in range(ORDER):
        ahead[j] = x[at - ORDER + j]
    departed = stayed = 0.0
    for h in range(14):
        expected = 0.0
        for j in range(1, ORDER + 1):
            expected -= filter[j] * ahead[ORDER + h - j]
        ahead[ORDER + h] = expected
        away = abs(x[at + h] - expected)
        if h < 8:
            departed = max(departed, away)
        else:
            stayed += away / 6
    return stayed / max(departed, LEAST_SIGMA)


@compiled()
def examine(x: Array, half: int, found: Array) -> None:
    """Look at the moment in the middle of *x*.

    Parameters
    ----------
    x : (ORDER + 2 * half,) one channel; the moment is at ORDER + half
    found : (FINDINGS,), the result: PEAK and SIGMA of what prediction leaves (the latter by the median, without the
        middle); FAR, the highest elsewhere; RING, the highest close by over the peak; OTHERNESS, how much worse one
        side's prediction is on the other side (1: alike); FLAT, equal samples at the top; STAYS; AT, the peak's place
    """
    middle = ORDER + half
    left, right, both = np.zeros((3, ORDER + 1, ORDER + 1))
    _covariance(x, ORDER, middle - BEFORE, left)
    _covariance(x, middle + BEHIND, len(x), right)
    for j in range(ORDER + 1):
        for k in range(ORDER + 1):
            both[j, k] = left[j, k] + right[j, k]
    of_left, of_right, of_both = np.zeros((3, ORDER + 1))
    _predictor(left, of_left)
    _predictor(right, of_right)
    _predictor(both, of_both)
    one = _error(right, of_left) / max(_error(right, of_right), LEAST_ENERGY)
    other = _error(left, of_right) / max(_error(left, of_left), LEAST_ENERGY)
    found[OTHERNESS] = max(one, other)
    rest = np.zeros(2 * half)
    highest = 0.0
    for n in range(2 * half):
        total = 0.0
        for j in range(ORDER + 1):
            total += of_both[j] * x[ORDER + n - j]
        rest[n] = abs(total)
        highest = max(highest, abs(x[ORDER + n]))
    at = half - BEFORE + 2
    for n in range(half - BEFORE + 2, half + BEHIND - 10):
        if rest[n] > rest[at]:
            at = n
    ring = far = 0.0
    for n in range(2 * half):
        if n < at - RINGS or n >= at + RINGS:
            far = max(far, rest[n])
        elif n < at - SETTLES or n >= at + SETTLES:
            ring = max(ring, rest[n])
    found[PEAK] = rest[at]
    found[FAR] = far
    found[RING] = ring / max(rest[at], LEAST_SIGMA)
    found[FLAT] = _flat_top(x, ORDER + at, highest)
    begin = at
    for n in range(at - SETTLES, at):
        if rest[n] > BEGINS * rest[at]:
            begin = n
            break
    found[STAYS] = _stays(x, ORDER + begin, of_both)
    found[AT] = ORDER + at
    ordinary = np.concatenate((rest[: half - BEFORE], rest[half + BEHIND :]))
    found[SIGMA] = max(np.median(ordinary) / 0.6745, LEAST_SIGMA)
