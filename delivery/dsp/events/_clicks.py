"""Loops that find clicks: a cheap filter over every sample (``click_prefilter``), a costly examination of few places.

C types are declared in ``_clicks.pxd``. Long sums are written as parallel lanes: compilers may not reorder
floating-point sums, so every processor gives the same figures.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.events.layout import (
    AT,
    BACK,
    BACKGROUND_PEAK,
    BLOCK,
    DEPARTURE,
    EXPLAINED,
    FLAT_SAMPLES,
    NEAR,
    NEARBY_PEAK,
    ORDER,
    PEAK,
    PER_BLOCK,
    PRODUCTS,
    REACH,
    RESIDUAL_PEAK,
    SIDE_MISMATCH,
    SIGMA,
    TRAIN,
    TRAIN_NEIGHBOURS,
    UNKNOWN,
    WHITENING_ORDER,
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
Short = NDArray[np.float32]
Integers = NDArray[np.int64]

LITTLE = 1e-6
"""Share of the first product added to it: the size of rounding to single precision."""
LEAST_PRODUCT = 1e-12
NEIGHBOURS = 14
"""Stretches on either side that must be smooth: 10 ms at 44.1 kHz."""
PROMINENT = 1.5**4
LEAST = 10.0 ** (4.0 * -54.0 / 20.0)
"""Fourth power of -54 dBFS: smaller residuals are not audible faults."""
TRAIN_PROMINENT = 4.0
ALIKE = 3.0**4

SEARCHED = 8
RINGS = 90
LEAST_SIGMA = 2.0**-24
LEAST_ENERGY = 1e-30
FLAT_FROM, FLAT_REACH = 0.9, 20


def _differences(samples: Array, at: int, count: int, differences: Short) -> None:
    for i in range(count):
        differences[i] = samples[at + i + 1] - samples[at + i]


def _products(differences: Short, window: Short, windowed: Short, products: Array) -> None:
    """Autocorrelation of BLOCK frames at lags 0 to 8; *windowed* begins with as many zeros."""
    for i in range(BLOCK):
        windowed[8 + i] = differences[8 + i] * window[i]
    x = windowed
    p0, p1, p2 = [0.0] * 16, [0.0] * 16, [0.0] * 16
    for i in range(8, BLOCK + 8, 16):
        for k in range(16):
            p0[k] += x[i + k] * x[i + k]
            p1[k] += x[i + k] * x[i + k - 1]
            p2[k] += x[i + k] * x[i + k - 2]
    products[0], products[1], products[2] = _total(p0), _total(p1), _total(p2)
    for k in range(16):
        p0[k] = p1[k] = p2[k] = 0.0
    for i in range(8, BLOCK + 8, 16):
        for k in range(16):
            p0[k] += x[i + k] * x[i + k - 3]
            p1[k] += x[i + k] * x[i + k - 4]
            p2[k] += x[i + k] * x[i + k - 5]
    products[3], products[4], products[5] = _total(p0), _total(p1), _total(p2)
    for k in range(16):
        p0[k] = p1[k] = p2[k] = 0.0
    for i in range(8, BLOCK + 8, 16):
        for k in range(16):
            p0[k] += x[i + k] * x[i + k - 6]
            p1[k] += x[i + k] * x[i + k - 7]
            p2[k] += x[i + k] * x[i + k - 8]
    products[6], products[7], products[8] = _total(p0), _total(p1), _total(p2)


def _total(lanes: list[float]) -> float:
    """Sum of sixteen lanes."""
    for k in range(8):
        lanes[k] += lanes[k + 8]
    for k in range(4):
        lanes[k] += lanes[k + 4]
    return (lanes[0] + lanes[1]) + (lanes[2] + lanes[3])


def _filter(before: Array, behind: Array, predictor: Array, total: Array, turned: Array) -> None:
    """Predictor for both neighbours, each normalised by its energy; *total*, *turned*: work arrays of (PRODUCTS,)."""
    for lag in range(PRODUCTS):
        total[lag] = before[lag] / (before[0] + LEAST_PRODUCT) + behind[lag] / (behind[0] + LEAST_PRODUCT)
        predictor[lag] = 0.0
    predictor[0] = 1.0
    error = total[0] * (1.0 + LITTLE) + LEAST_PRODUCT
    for order in range(1, PRODUCTS):
        rest = 0.0
        for j in range(order):
            rest -= predictor[j] * total[order - j]
        reflected = rest / error
        if abs(reflected) >= 1.0:
            break
        for j in range(order + 1):
            turned[j] = predictor[j] + reflected * predictor[order - j]
        for j in range(order + 1):
            predictor[j] = turned[j]
        error *= 1.0 - reflected * reflected


def _whitened(x: Short, at: int, predictor: Array, left: Short) -> None:
    """Eight taps, written out: a loop over them takes twice as long."""
    p1, p2, p3, p4 = predictor[1], predictor[2], predictor[3], predictor[4]
    p5, p6, p7, p8 = predictor[5], predictor[6], predictor[7], predictor[8]
    for i in range(BLOCK):
        j = at + i
        near = (x[j + 8] + p1 * x[j + 7]) + (p2 * x[j + 6] + p3 * x[j + 5])
        left[i] = (near + (p4 * x[j + 4] + p5 * x[j + 3])) + ((p6 * x[j + 2] + p7 * x[j + 1]) + p8 * x[j])


def _fourth_powers(left: Short, each: int, sums: Array, at: int, count: int) -> None:
    """Sums over each group of *each* values, a multiple of 32."""
    for k in range(count):
        lanes = [0.0] * 16
        begin = k * each
        for i in range(begin, begin + each, 16):
            for lane in range(16):
                square = left[i + lane] * left[i + lane]
                lanes[lane] += square * square
        sums[at + k] = _total(lanes)


def roughness(samples: Array, window: Short, times: int, products: Array, rough: Array) -> None:
    """Sums of the fourth powers of the whitened differences, for each stretch of the lead and all blocks but the last.

    Parameters
    ----------
    samples : (lead(times) + blocks * BLOCK * times,) one channel
    window : (BLOCK,) for what the predictor learns from
    times : 1, 2, 4 ... 32: factor on the lengths of blocks and stretches
    products : (2, PRODUCTS) of the two preceding blocks; kept between calls, zeros at the start
    rough : (blocks * PER_BLOCK,), the result
    """
    differences = np.zeros((2, WHITENING_ORDER + BLOCK * times), np.float32)
    room, small = np.zeros((2, WHITENING_ORDER + BLOCK), np.float32), np.zeros((4, PRODUCTS))
    with cython.nogil:
        _roughness(samples, window, times, products, rough, differences, room, small)


def _roughness(
    samples: Array,
    window: Short,
    times: int,
    products: Array,
    rough: Array,
    differences: Short,
    room: Short,
    small: Array,
) -> None:
    block = BLOCK * times
    middle, part = (block - BLOCK) // 2, PER_BLOCK // times
    whole = WHITENING_ORDER + block
    _differences(samples, 0, whole, differences[0])
    for k in range(len(rough) // PER_BLOCK):
        this, coming = k % 2, (k + 1) % 2
        _differences(samples, (k + 1) * block, whole, differences[coming])
        _products(differences[coming, middle:], window, room[0], small[0])
        _filter(products[0], small[0], small[1], small[2], small[3])
        for lag in range(PRODUCTS):
            products[0, lag], products[1, lag] = products[1, lag], small[0, lag]
        for t in range(times):
            _whitened(differences[this], t * BLOCK, small[1], room[1])
            _fourth_powers(room[1], BLOCK // part, rough, k * PER_BLOCK + t * part, part)


def _is_outstanding(rough: Array, k: int, neighbours: int, times: float) -> bool:
    """Whether stretch *k* is *times* as rough as all but its next neighbours, and not less rough than these."""
    if rough[k - 1] > rough[k] or rough[k + 1] >= rough[k]:
        return False
    least = rough[k] / times
    j = 2
    while j < neighbours and max(rough[k - j], rough[k + j]) < least:
        j += 1
    return j == neighbours


def _in_a_train(rough: Array, k: int) -> bool:
    """Whether two or more similar stretches are near stretch *k*."""
    count = 0
    least = rough[k] / ALIKE
    for j in range(k - TRAIN, k + TRAIN + 1):
        if (
            (j < k - 2 or j > k + 2)
            and rough[j] > least
            and _is_outstanding(rough, j, TRAIN_NEIGHBOURS, TRAIN_PROMINENT)
        ):
            count += 1
    return count > 1


def rough_places(rough: Array, begin: int, end: int, found: Integers) -> int:
    """Find outstanding stretches from *begin* to *end*; ``MARGIN`` stretches must lie before *begin* and after *end*.

    Returns the number of rows written to *found*, (end - begin, 2): the stretch, and whether it is part of a train
    (0 or 1).
    """
    count = 0
    with cython.nogil:
        for k in range(begin, end):
            if rough[k] > LEAST and _is_outstanding(rough, k, NEIGHBOURS, PROMINENT):
                found[count, 0] = k
                found[count, 1] = _in_a_train(rough, k)
                count += 1
    return count


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


def _explain(rest: Array, at: int, predictor: Array, gram: Array, lower: Array, vectors: Array) -> float:
    """Subtract from *rest*, near its peak, what replacing UNKNOWN consecutive samples explains at best (least squares).

    Returns the largest distance of the samples from their replacements.
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
    return _highest(vectors[2], 0, UNKNOWN)


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
        the top; DEPARTURE, distance of the samples from their replacements; AT, index of the peak
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
    return found[PEAK] >= least_over_background * found[BACKGROUND_PEAK]


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
    found[FLAT_SAMPLES] = _flat_top(x, ORDER + at, _highest(x, 0, len(x)))
    ring = max(_highest(rest, at - RINGS, at - BACK), _highest(rest, at + REACH, at + RINGS))
    found[NEARBY_PEAK] = max(LEAST_SIGMA, ring)
    before = _energy(rest, at - BACK, at + REACH)
    found[DEPARTURE] = _explain(rest, at, predictors[0], gram, small, vectors)
    found[EXPLAINED] = before / max(_energy(rest, at - BACK, at + REACH), LEAST_ENERGY)
    found[RESIDUAL_PEAK] = _highest(rest, at - BACK, at + REACH)
    _predictor(sums[0], predictors[0], inner, lower)
    _predictor(sums[1], predictors[1], inner, lower)
    of_right = _error(sums[1], predictors[0]) / _error(sums[1], predictors[1])
    of_left = _error(sums[0], predictors[1]) / _error(sums[0], predictors[0])
    found[SIDE_MISMATCH] = max(of_right, of_left)
