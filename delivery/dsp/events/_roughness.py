"""Loops that look for candidate clicks in every sample, for ``click_prefilter``.

C types are declared in ``_roughness.pxd``. Long sums are written as parallel lanes: compilers may not reorder
floating-point sums, so every processor gives the same figures.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.events.layout import (
    BLOCK,
    PER_BLOCK,
    PRODUCTS,
    TRAIN,
    TRAIN_NEIGHBOURS,
    WHITENING_ORDER,
)

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
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


def _differences(samples: Array, at: int, count: int, differences: Short) -> None:
    for i in range(count):
        differences[i] = samples[at + i + 1] - samples[at + i]


def _products(differences: Short, window: Short, windowed: Short, products: Array) -> None:
    """Autocorrelation of BLOCK frames at lags 0 to 8; *windowed* begins with as many zeros."""
    for i in range(BLOCK):
        windowed[8 + i] = differences[8 + i] * window[i]
    x = windowed
    p0, p1, p2, p3, p4 = [0.0] * 16, [0.0] * 16, [0.0] * 16, [0.0] * 16, [0.0] * 16
    p5, p6, p7, p8 = [0.0] * 16, [0.0] * 16, [0.0] * 16, [0.0] * 16
    for i in range(8, BLOCK + 8, 16):
        for k in range(16):
            now = x[i + k]
            p0[k] += now * now
            p1[k] += now * x[i + k - 1]
            p2[k] += now * x[i + k - 2]
            p3[k] += now * x[i + k - 3]
            p4[k] += now * x[i + k - 4]
            p5[k] += now * x[i + k - 5]
            p6[k] += now * x[i + k - 6]
            p7[k] += now * x[i + k - 7]
            p8[k] += now * x[i + k - 8]
    products[0], products[1], products[2] = _total(p0), _total(p1), _total(p2)
    products[3], products[4], products[5] = _total(p3), _total(p4), _total(p5)
    products[6], products[7], products[8] = _total(p6), _total(p7), _total(p8)


def _total(lanes: list[float]) -> float:
    """Sum of sixteen lanes."""
    for k in range(8):
        lanes[k] += lanes[k + 8]
    for k in range(4):
        lanes[k] += lanes[k + 4]
    return (lanes[0] + lanes[1]) + (lanes[2] + lanes[3])


def _filter(before: Array, behind: Array, predictor: Array) -> None:
    """Predictor for both neighbours, each normalised by its energy: Levinson's recursion.

    All its loops are of one length, over zeros where the order is lower, so that no branch is mispredicted.
    """
    total, taps, turned = [0.0] * 17, [0.0] * 17, [0.0] * 9  # lags and orders 0 to 8, from the ninth place on
    for lag in range(9):
        total[8 + lag] = before[lag] / (before[0] + LEAST_PRODUCT) + behind[lag] / (behind[0] + LEAST_PRODUCT)
    taps[8] = 1.0
    error = total[8] * (1.0 + LITTLE) + LEAST_PRODUCT
    for order in range(1, 9):
        near = (taps[8] * total[order + 8] + taps[9] * total[order + 7]) + (
            taps[10] * total[order + 6] + taps[11] * total[order + 5]
        )
        far = (taps[12] * total[order + 4] + taps[13] * total[order + 3]) + (
            taps[14] * total[order + 2] + taps[15] * total[order + 1]
        )
        reflected = -(near + far) / error
        if abs(reflected) >= 1.0:
            break
        for j in range(9):
            turned[j] = taps[8 + j] + reflected * taps[8 + order - j]
        for j in range(9):
            taps[8 + j] = turned[j]
        error *= 1.0 - reflected * reflected
    for j in range(9):
        predictor[j] = taps[8 + j]


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
    """Add up the fourth powers of the whitened differences, for each stretch of the lead and each block but the last.

    Parameters
    ----------
    samples : (lead(times) + blocks * BLOCK * times,) one channel
    window : (BLOCK,) for what the predictor learns from
    times : 1, 2, 4 ... 32: factor on the lengths of blocks and stretches
    products : (2, PRODUCTS) of the two preceding blocks; kept between calls, zeros at the start
    rough : (blocks * PER_BLOCK,), the result
    """
    differences = np.zeros((2, WHITENING_ORDER + BLOCK * times), np.float32)
    room, small = np.zeros((2, WHITENING_ORDER + BLOCK), np.float32), np.zeros((2, PRODUCTS))
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
        _filter(products[0], small[0], small[1])
        for lag in range(PRODUCTS):
            products[0, lag], products[1, lag] = products[1, lag], small[0, lag]
        for t in range(times):
            _whitened(differences[this], t * BLOCK, small[1], room[1])
            _fourth_powers(room[1], BLOCK // part, rough, k * PER_BLOCK + t * part, part)


def _is_outstanding(rough: Array, k: int, neighbours: int, times: float) -> bool:
    """Whether stretch *k* is *times* as rough as all but its next neighbours, and not less rough than these."""
    least = rough[k] / times
    near = (rough[k - 1] <= rough[k]) & (rough[k + 1] < rough[k]) & (max(rough[k - 2], rough[k + 2]) < least)
    if not near:  # tested at once, since each alone would often be mispredicted
        return False
    j = 3
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
