"""Where sound is rough for a moment: a cheap look at every sample, so that a dear one is only needed at few places.

Blocks are whitened: what linear prediction of the differences, learnt from the two blocks beside it, leaves of a block.
A fault of a few samples then stands out of music that is louder than itself. Fourth powers tell a single large sample
from many middling ones, and add up without a branch. Source of the method: S. V. Vaseghi, detection of impulsive noise
by inverse filtering, as textbooks tell it; the predictor is Levinson's and Durbin's.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import ANY_ORDER, compiled

Array = NDArray[np.float64]
Short = NDArray[np.float32]
Integers = NDArray[np.int64]

BLOCK = 1024
"""Frames. Lengths known to the compiler are looked at eight times as fast."""
STRETCH = 32
"""Frames at 44.1 and 48 kHz."""
ORDER = 8
LEAD = BLOCK + ORDER + 1
"""Frames that lead a piece: the block that is whitened first, and what its filter reaches back to."""
PRODUCTS = ORDER + 1
LITTLE = 1e-6
"""Added to the first product, of its own size: rounding to single precision is as large."""
LEAST_ENERGY = 1e-12
NEIGHBOURS = 14
"""Stretches on either side that must be smooth: 10 ms at 44.1 kHz."""
PROMINENT = 1.5**4
LEAST = 10 ** (4 * -54 / 20)
"""Fourth power of -54 dBFS: what leaves less is no fault that is heard."""
TRAIN_NEIGHBOURS = 6
TRAIN_PROMINENT = 4.0
TRAIN = 68
"""Stretches on either side in which others like it make it one of a train: a low sawtooth has a jump every 30 ms."""
ALIKE = 3.0**4
MARGIN = TRAIN + TRAIN_NEIGHBOURS


@compiled(fast=ANY_ORDER)
def _differences(samples: Array, differences: Short) -> None:
    for i in range(ORDER + BLOCK):
        differences[i] = samples[i + 1] - samples[i]


@compiled(fast=ANY_ORDER)
def _products(differences: Short, window: Short, windowed: Short, products: Array) -> None:
    """Of a block with itself, 0 to ORDER frames late; *windowed* has ORDER zeros before the block."""
    for i in range(BLOCK):
        windowed[ORDER + i] = differences[ORDER + i] * window[i]
    for lag in range(PRODUCTS):
        total = np.float32(0.0)
        for i in range(BLOCK):
            total += windowed[ORDER + i] * windowed[ORDER - lag + i]
        products[lag] = total


@compiled()
def _filter(before: Array, behind: Array, predictor: Array) -> None:
    """What predicts both neighbours alike, however loud each is."""
    total = np.zeros(PRODUCTS)
    turned = np.zeros(PRODUCTS)
    for lag in range(PRODUCTS):
        total[lag] = before[lag] / (before[0] + LEAST_ENERGY) + behind[lag] / (behind[0] + LEAST_ENERGY)
        predictor[lag] = 0.0
    predictor[0] = 1.0
    error = total[0] * (1.0 + LITTLE) + LEAST_ENERGY
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


@compiled(fast=ANY_ORDER)
def _whitened(x: Short, predictor: Array, left: Short) -> None:
    """ORDER taps, written out: in a loop over them it takes twice as long."""
    p = predictor.astype(np.float32)
    p1, p2, p3, p4, p5, p6, p7, p8 = p[1], p[2], p[3], p[4], p[5], p[6], p[7], p[8]
    for i in range(BLOCK):
        near = x[i + 8] + p1 * x[i + 7] + p2 * x[i + 6] + p3 * x[i + 5] + p4 * x[i + 4]
        left[i] = near + p5 * x[i + 3] + p6 * x[i + 2] + p7 * x[i + 1] + p8 * x[i]


@compiled(fast=ANY_ORDER)
def roughness(samples: Array, window: Short, times: int, products: Array, rough: Array) -> None:
    """Sums of fourth powers of the whitened differences, for each stretch of the lead and all blocks but the last.

    Parameters
    ----------
    samples : (LEAD + blocks * BLOCK,) one channel
    window : (BLOCK,) for what the predictor learns from
    times : 1, 2, 4 ...: stretches are that many times STRETCH frames
    products : (2, PRODUCTS) of the last two blocks before; kept from piece to piece, begin with zeros
    rough : (blocks * BLOCK / STRETCH / times,), the result
    """
    differences = np.zeros((2, ORDER + BLOCK), np.float32)
    left = np.zeros(BLOCK, np.float32)
    windowed = np.zeros(ORDER + BLOCK, np.float32)
    predictor = np.zeros(PRODUCTS)
    behind = np.zeros(PRODUCTS)
    _differences(samples[:LEAD], differences[0])
    per_block = BLOCK // STRETCH // times
    for k in range(len(rough) // per_block):
        this, coming = differences[k % 2], differences[(k + 1) % 2]
        begin = (k + 1) * BLOCK
        _differences(samples[begin : begin + LEAD], coming)
        _products(coming, window, windowed, behind)
        _filter(products[0], behind, predictor)
        _whitened(this, predictor, left)
        products[0] = products[1]
        products[1] = behind
        for s in range(per_block):
            total = np.float32(0.0)
            for t in range(times):
                row = left[(s * times + t) * STRETCH : (s * times + t + 1) * STRETCH]
                for i in range(STRETCH):
                    square = row[i] * row[i]
                    total += square * square
            rough[k * per_block + s] = total


@compiled()
def _stands_out(rough: Array, k: int, neighbours: int, times: float) -> bool:
    """Whether it is *times* as rough as all but its next neighbours, and not softer than those."""
    if not (rough[k - 1] <= rough[k] and rough[k + 1] < rough[k]):
        return False
    least = rough[k] / times
    j = 2
    while j < neighbours and max(rough[k - j], rough[k + j]) < least:
        j += 1
    return j == neighbours


@compiled()
def _in_a_train(rough: Array, k: int) -> bool:
    """Whether two or more places like it are near it."""
    count = 0
    least = rough[k] / ALIKE
    for j in range(k - TRAIN, k + TRAIN + 1):
        if abs(j - k) > 2 and rough[j] > least and _stands_out(rough, j, TRAIN_NEIGHBOURS, TRAIN_PROMINENT):
            count += 1
    return count > 1


@compiled()
def rough_places(rough: Array, begin: int, end: int, found: Integers) -> int:
    """Stretches from *begin* to *end* that stand out.

    There must be ``MARGIN`` stretches before *begin* and behind *end*. Returns how many rows were written into *found*,
    (end - begin, 2): the stretch, and whether it is one of a train (0 or 1).
    """
    count = 0
    for k in range(begin, end):
        if rough[k] > LEAST and _stands_out(rough, k, NEIGHBOURS, PROMINENT):
            found[count, 0] = k
            found[count, 1] = _in_a_train(rough, k)
            count += 1
    return count
