"""Linear prediction around one moment: is it a fault of a few samples, or how the music goes?

What order 12 predicts from before and behind a suspicious moment is taken away; a click or a jump leaves a short, high
peak in what remains. Then the samples around the peak are taken for unknown, and those are sought that leave least: of
a click nothing remains, for beyond its few samples the sound is as it was; of a jump, an attack, the edge of a square
wave or a drum's ringing most stays. Source of the methods: S. V. Vaseghi, detection of impulsive noise by inverse
filtering, and least-squares interpolation of autoregressive sound (Janssen, Veldhuis, Vries 1986), as textbooks tell
them; limits are tuned here.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import ANY_ORDER, compiled

Array = NDArray[np.float64]

ORDER = 12
UNKNOWN = 6
"""Samples that are sought: one more than a click may have, for it may lie between them."""
HALF = 512
"""Frames on either side at 44.1 and 48 kHz."""
NEAR = 12
"""Frames on either side of the moment that the prediction does not learn from; behind it, ORDER more."""
SEARCHED = 8
RINGS = 90
BACK, REACH = UNKNOWN + ORDER, ORDER + UNKNOWN + NEAR
"""Frames before and behind its peak where a fault leaves something: what the predictor makes of it may stand higher."""
PEAK, SIGMA, FAR, RING, LEFT, EXPLAINED, OTHERNESS, FLAT, DEPARTS, AT = 0, 1, 2, 3, 4, 5, 6, 7, 8, 9
FINDINGS = 10
LEAST_SIGMA = 2.0**-24
LEAST_ENERGY = 1e-30
FLAT_FROM, FLAT_REACH = 0.9, 20


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
def _factored(matrix: Array, lower: Array) -> None:
    """Cholesky's; a little is added to the diagonal, for tones and silence."""
    size = len(matrix)
    little = 1e-9 * np.trace(matrix) / size + LEAST_ENERGY
    for i in range(size):
        for j in range(i + 1):
            rest = matrix[i, j]
            for k in range(j):
                rest -= lower[i, k] * lower[j, k]
            if i == j:
                lower[i, i] = np.sqrt(max(rest + little, LEAST_ENERGY))
            else:
                lower[i, j] = rest / lower[j, j]


@compiled()
def _solved(lower: Array, right: Array) -> None:
    """In place of *right*."""
    size = len(right)
    for i in range(size):
        for k in range(i):
            right[i] -= lower[i, k] * right[k]
        right[i] /= lower[i, i]
    for i in range(size - 1, -1, -1):
        for k in range(i + 1, size):
            right[i] -= lower[k, i] * right[k]
        right[i] /= lower[i, i]


@compiled()
def _predictor(sums: Array, predictor: Array) -> None:
    """Least squares."""
    lower = np.zeros((ORDER, ORDER))
    _factored(sums[1:, 1:], lower)
    predictor[0] = 1.0
    for j in range(ORDER):
        predictor[j + 1] = -sums[0, j + 1]
    _solved(lower, predictor[1:])


@compiled()
def _error(sums: Array, predictor: Array) -> float:
    total = 0.0
    for j in range(ORDER + 1):
        for k in range(ORDER + 1):
            total += predictor[j] * sums[j, k] * predictor[k]
    return max(total, LEAST_ENERGY)


@compiled()
def _flat_top(x: Array, at: int, highest: float) -> int:
    """Longest run of equal samples near *at* that are near the highest of all."""
    longest = run = 0
    for n in range(at - FLAT_REACH, at + FLAT_REACH):
        run = run + 1 if x[n] == x[n - 1] and abs(x[n]) > FLAT_FROM * highest else 0
        longest = max(longest, run)
    return longest


@compiled()
def _highest(rest: Array, begin: int, end: int) -> float:
    highest = 0.0
    for n in range(begin, end):
        highest = max(highest, abs(rest[n]))
    return highest


@compiled()
def _explain(rest: Array, at: int, predictor: Array) -> float:
    """Take out of *rest*, near its peak, what other values of UNKNOWN samples in a row explain at best.

    Returns how far at most the samples are from those.
    """
    gram = np.zeros((UNKNOWN, UNKNOWN))
    for i in range(UNKNOWN):
        for j in range(UNKNOWN):
            for k in range(abs(i - j), ORDER + 1):
                gram[i, j] += predictor[k] * predictor[k - abs(i - j)]
    lower = np.zeros((UNKNOWN, UNKNOWN))
    _factored(gram, lower)
    sought, wanted, best = np.zeros((3, UNKNOWN))
    most, first = 0.0, at
    for begin in range(at - BACK + 1, at + 1):
        for i in range(UNKNOWN):
            total = 0.0
            for k in range(ORDER + 1):
                total += predictor[k] * rest[begin + i + k]
            wanted[i] = total
            sought[i] = total
        _solved(lower, sought)
        gain = 0.0
        for i in range(UNKNOWN):
            gain += sought[i] * wanted[i]
        if gain > most:
            most, first = gain, begin
            best[:] = sought
    for i in range(UNKNOWN):
        for k in range(ORDER + 1):
            rest[first + i + k] -= best[i] * predictor[k]
    departs: float = _highest(best, 0, UNKNOWN)
    return departs


@compiled(fast=ANY_ORDER)
def _filtered(x: Array, predictor: Array, rest: Array) -> None:
    for n in range(len(rest)):
        rest[n] = x[ORDER + n]
    for j in range(1, ORDER + 1):
        for n in range(len(rest)):
            rest[n] += predictor[j] * x[ORDER - j + n]


@compiled()
def examine(x: Array, half: int, least_over_far: float, found: Array) -> bool:
    """Look at the moment in the middle of *x*; False where nothing stands out of it.

    Parameters
    ----------
    x : (ORDER + 2 * half,) one channel; the moment is at ORDER + half
    least_over_far : what the peak must be over the highest elsewhere, to be looked at further
    found : (FINDINGS,), the result: PEAK and SIGMA of what prediction leaves (the latter by the median, without the
        middle); FAR, the highest elsewhere; RING, the highest close by; LEFT, the highest that remains at the moment
        with other values of UNKNOWN samples; EXPLAINED, energy there before over that which remains; OTHERNESS, how
        much worse one side's prediction is on the other side (1: alike); FLAT, equal samples at the top;
        DEPARTS, how far the samples are from those other values; AT, the peak's place
    """
    middle = ORDER + half
    left, right, both = np.zeros((3, ORDER + 1, ORDER + 1))
    _covariance(x, ORDER, middle - NEAR, left)
    _covariance(x, middle + NEAR + ORDER, len(x), right)
    for j in range(ORDER + 1):
        for k in range(ORDER + 1):
            both[j, k] = left[j, k] + right[j, k]
    predictor = np.zeros(ORDER + 1)
    _predictor(both, predictor)
    rest = np.zeros(2 * half)
    _filtered(x, predictor, rest)
    at = half - SEARCHED
    for n in range(half - SEARCHED, half + SEARCHED + 1):
        if abs(rest[n]) > abs(rest[at]):
            at = n
    found[AT] = ORDER + at
    found[PEAK] = peak = abs(rest[at])
    found[FAR] = max(LEAST_SIGMA, _highest(rest, 0, at - RINGS), _highest(rest, at + RINGS, 2 * half))
    if peak < least_over_far * found[FAR]:
        return False
    found[FLAT] = _flat_top(x, ORDER + at, _highest(x, 0, len(x)))
    ordinary = np.abs(np.concatenate((rest[: half - NEAR], rest[half + NEAR + ORDER :])))
    found[SIGMA] = max(np.median(ordinary) / 0.6745, LEAST_SIGMA)
    found[RING] = max(LEAST_SIGMA, _highest(rest, at - RINGS, at - BACK), _highest(rest, at + REACH, at + RINGS))
    before = np.sum(rest[at - BACK : at + REACH] ** 2)
    found[DEPARTS] = _explain(rest, at, predictor)
    found[EXPLAINED] = before / max(np.sum(rest[at - BACK : at + REACH] ** 2), LEAST_ENERGY)
    found[LEFT] = _highest(rest, at - BACK, at + REACH)
    other = np.zeros(ORDER + 1)
    _predictor(left, predictor)
    _predictor(right, other)
    of_right, of_left = _error(right, predictor) / _error(right, other), _error(left, other) / _error(left, predictor)
    found[OTHERNESS] = max(of_right, of_left)
    return True
