"""Loops that examine one candidate for a click closely; the method: ``prediction``.

C types are declared in ``_prediction.pxd``.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.events.layout import (
    AT,
    BACK,
    BACKGROUND_PEAK,
    DEPARTURE,
    EXPLAINED,
    FLAT_SAMPLES,
    NEAR,
    NEARBY_PEAK,
    ORDER,
    OVER_TOP,
    PEAK,
    REACH,
    RESIDUAL_PEAK,
    SIDE_MISMATCH,
    SIGMA,
    UNKNOWN,
)

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
    from numpy import sqrt

    from delivery.dsp.uncompiled import report

    report()

Array = NDArray[np.float64]

SEARCHED = 8
RINGS = 90
LEAST_SIGMA = 2.0**-24
LEAST_ENERGY = 1e-30
FLAT_FROM, FLAT_REACH = 0.9, 20
TOP = 0.99
"""Of the highest sample: dither, and one step more below zero than above, leave clipped samples this close to it."""


def _covariance(x: Array, begin: int, end: int, sums: Array) -> None:
    """Covariance of the sound at lags 0 to ORDER; along a diagonal only the ends differ."""
    for k in range(ORDER + 1):
        total = _product(x, begin, end, k)
        sums[0, k] = total
        sums[k, 0] = total
    for j in range(ORDER):
        for k in range(j, ORDER):
            moved = x[begin - 1 - j] * x[begin - 1 - k] - x[end - 1 - j] * x[end - 1 - k]
            sums[j + 1, k + 1] = sums[j, k] + moved
            sums[k + 1, j + 1] = sums[j + 1, k + 1]


def _product(x: Array, begin: int, end: int, late: int) -> float:
    lanes = [0.0] * 8
    whole = (end - begin) // 8 * 8
    for i in range(begin, begin + whole, 8):
        for k in range(8):
            lanes[k] += x[i + k] * x[i + k - late]
    for i in range(begin + whole, end):
        lanes[0] += x[i] * x[i - late]
    return ((lanes[0] + lanes[1]) + (lanes[2] + lanes[3])) + ((lanes[4] + lanes[5]) + (lanes[6] + lanes[7]))


def _factored(matrix: Array, lower: Array) -> None:
    """Cholesky decomposition; a little is added to the diagonal, so that tones and silence do not fail."""
    size = len(matrix)
    trace = 0.0
    for i in range(size):
        trace += matrix[i, i]
    little = 1e-9 * trace / size + LEAST_ENERGY
    for i in range(size):
        for j in range(i + 1):
            rest = matrix[i, j]
            for k in range(j):
                rest -= lower[i, k] * lower[j, k]
            if i == j:
                lower[i, i] = sqrt(max(rest + little, LEAST_ENERGY))
            else:
                lower[i, j] = rest / lower[j, j]


def _solved(lower: Array, right: Array) -> None:
    """Solve for *right*, in place."""
    size = len(lower)
    for i in range(size):
        for k in range(i):
            right[i] -= lower[i, k] * right[k]
        right[i] /= lower[i, i]
    for i in range(size - 1, -1, -1):
        for k in range(i + 1, size):
            right[i] -= lower[k, i] * right[k]
        right[i] /= lower[i, i]


def _predictor(sums: Array, predictor: Array, inner: Array, lower: Array) -> None:
    """Least-squares predictor."""
    for j in range(ORDER):
        for k in range(ORDER):
            inner[j, k] = sums[j + 1, k + 1]
    _factored(inner, lower)
    predictor[0] = 1.0
    for j in range(ORDER):
        predictor[j + 1] = -sums[0, j + 1]
    _solved(lower, predictor[1:])


def _error(sums: Array, predictor: Array) -> float:
    total = 0.0
    for j in range(ORDER + 1):
        for k in range(ORDER + 1):
            total += predictor[j] * sums[j, k] * predictor[k]
    return max(total, LEAST_ENERGY)


def _flat_top(x: Array, at: int, highest: float) -> int:
    """Longest run of equal samples near *at*, among samples close to the highest of all."""
    longest = run = 0
    for n in range(at - FLAT_REACH, at + FLAT_REACH):
        run = run + 1 if x[n] == x[n - 1] and abs(x[n]) > FLAT_FROM * highest else 0
        longest = max(longest, run)
    return longest


def _highest(rest: Array, begin: int, end: int) -> float:
    highest = 0.0
    for n in range(begin, end):
        highest = max(highest, abs(rest[n]))
    return highest


def _energy(rest: Array, begin: int, end: int) -> float:
    total = 0.0
    for n in range(begin, end):
        total += rest[n] * rest[n]
    return total


def _explain(rest: Array, at: int, predictor: Array, gram: Array, lower: Array, vectors: Array) -> int:
    """Subtract from *rest*, near its peak, what replacing UNKNOWN consecutive samples explains at best (least squares).

    Returns the first of them; how far they are from their replacements is in the third row of *vectors*.
    """
    for i in range(UNKNOWN):
        for j in range(UNKNOWN):
            late = i - j if i > j else j - i
            gram[i, j] = 0.0
            for k in range(late, ORDER + 1):
                gram[i, j] += predictor[k] * predictor[k - late]
    _factored(gram, lower)
    most, first = 0.0, at
    for begin in range(at - BACK + 1, at + 1):
        for i in range(UNKNOWN):
            total = 0.0
            for k in range(ORDER + 1):
                total += predictor[k] * rest[begin + i + k]
            vectors[0, i] = vectors[1, i] = total
        _solved(lower, vectors[0])
        gain = 0.0
        for i in range(UNKNOWN):
            gain += vectors[0, i] * vectors[1, i]
        if gain > most:
            most, first = gain, begin
            for i in range(UNKNOWN):
                vectors[2, i] = vectors[0, i]
    for i in range(UNKNOWN):
        for k in range(ORDER + 1):
            rest[first + i + k] -= vectors[2, i] * predictor[k]
    return first


def _over_top(x: Array, first: int, over: Array, highest: float) -> float:
    """How far the replacements of samples at the top of the waveform lie beyond these, at most."""
    farthest = 0.0
    for i in range(UNKNOWN):
        if abs(x[first + i]) > TOP * highest and x[first + i] * over[i] < 0.0:
            farthest = max(farthest, abs(over[i]))
    return farthest


def _filtered(x: Array, predictor: Array, rest: Array) -> None:
    for n in range(len(rest)):
        rest[n] = x[ORDER + n]
    for j in range(1, ORDER + 1):
        tap = predictor[j]
        for n in range(len(rest)):
            rest[n] += tap * x[ORDER - j + n]


def examine(x: Array, half: int, least_over_background: float, found: Array) -> bool:
    """Examine the middle of *x*; False if nothing stands out there.

    Parameters
    ----------
    x : (ORDER + 2 * half,) one channel; the examined sample is at ORDER + half
    least_over_background : least ratio of the peak to BACKGROUND_PEAK for further examination
    found : (FINDINGS,), the result: PEAK and SIGMA of the prediction residual (SIGMA from the median, without the
        middle); BACKGROUND_PEAK, the highest elsewhere; NEARBY_PEAK, the highest close by; RESIDUAL_PEAK, the highest
        at the peak after UNKNOWN samples are replaced; EXPLAINED, energy there before over energy after; SIDE_MISMATCH,
        how much worse one side's predictor works on the other side (1: equally well); FLAT_SAMPLES, equal samples at
        the top; DEPARTURE, distance of the samples from their replacements; OVER_TOP, the same of samples at the top of
        the waveform alone, whose replacements lie beyond it; AT, index of the peak
    """
    size = ORDER + 1
    sums, predictors, rest = np.zeros((3, size, size)), np.zeros((2, size)), np.zeros(2 * half)
    remains = rest
    inner, lower = np.zeros((ORDER, ORDER)), np.zeros((ORDER, ORDER))
    gram, small, vectors = np.zeros((UNKNOWN, UNKNOWN)), np.zeros((UNKNOWN, UNKNOWN)), np.zeros((3, UNKNOWN))
    with cython.nogil:
        suspicious = _peak_of(x, half, least_over_background, sums, predictors[0], remains, inner, lower, found)
    if not suspicious:
        return False
    ordinary = np.abs(np.concatenate((rest[: half - NEAR], rest[half + NEAR + ORDER :])))
    ordinary.sort()
    count = len(ordinary)  # median; numpy's function takes longer than everything else here
    found[SIGMA] = max((ordinary[(count - 1) // 2] + ordinary[count // 2]) / 2 / 0.6745, LEAST_SIGMA)
    with cython.nogil:
        _look_closely(x, sums, predictors, remains, inner, lower, gram, small, vectors, found)
    return True


def _peak_of(
    x: Array,
    half: int,
    least_over_background: float,
    sums: Array,
    predictor: Array,
    rest: Array,
    inner: Array,
    lower: Array,
    found: Array,
) -> bool:
    middle = ORDER + half
    _covariance(x, ORDER, middle - NEAR, sums[0])
    _covariance(x, middle + NEAR + ORDER, len(x), sums[1])
    for j in range(ORDER + 1):
        for k in range(ORDER + 1):
            sums[2, j, k] = sums[0, j, k] + sums[1, j, k]
    _predictor(sums[2], predictor, inner, lower)
    _filtered(x, predictor, rest)
    at = half - SEARCHED
    for n in range(half - SEARCHED, half + SEARCHED + 1):
        if abs(rest[n]) > abs(rest[at]):
            at = n
    found[AT] = ORDER + at
    found[PEAK] = abs(rest[at])
    found[BACKGROUND_PEAK] = max(LEAST_SIGMA, max(_highest(rest, 0, at - RINGS), _highest(rest, at + RINGS, 2 * half)))
    return bool(found[PEAK] >= least_over_background * found[BACKGROUND_PEAK])


def _look_closely(
    x: Array,
    sums: Array,
    predictors: Array,
    rest: Array,
    inner: Array,
    lower: Array,
    gram: Array,
    small: Array,
    vectors: Array,
    found: Array,
) -> None:
    at = int(found[AT])
    at -= ORDER
    highest = _highest(x, 0, len(x))
    found[FLAT_SAMPLES] = _flat_top(x, ORDER + at, highest)
    ring = max(_highest(rest, at - RINGS, at - BACK), _highest(rest, at + REACH, at + RINGS))
    found[NEARBY_PEAK] = max(LEAST_SIGMA, ring)
    before = _energy(rest, at - BACK, at + REACH)
    first = _explain(rest, at, predictors[0], gram, small, vectors)
    found[DEPARTURE] = _highest(vectors[2], 0, UNKNOWN)
    found[OVER_TOP] = _over_top(x, ORDER + first, vectors[2], highest)
    found[EXPLAINED] = before / max(_energy(rest, at - BACK, at + REACH), LEAST_ENERGY)
    found[RESIDUAL_PEAK] = _highest(rest, at - BACK, at + REACH)
    _predictor(sums[0], predictors[0], inner, lower)
    _predictor(sums[1], predictors[1], inner, lower)
    of_right = _error(sums[1], predictors[0]) / _error(sums[1], predictors[1])
    of_left = _error(sums[0], predictors[1]) / _error(sums[0], predictors[0])
    found[SIDE_MISMATCH] = max(of_right, of_left)
