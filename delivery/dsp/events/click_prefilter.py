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
"""Frames at 44.1 and 48 kHz, 23 ms; at higher rates a predictor learns from as many in the middle of a longer block."""
STRETCH = 32
"""Frames at 44.1 and 48 kHz."""
PER_BLOCK = BLOCK // STRETCH
ORDER = 8
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


def lead(times: int) -> int:
    """Frames that lead a piece: the block that is whitened first, and what its filter reaches back to."""
    return BLOCK * times + ORDER + 1


@compiled(fast=ANY_ORDER)
def _differences(samples: Array, differences: Short) -> None:
    before, behind = samples[:-1], samples[1:]
    for i in range(len(differences)):
        differences[i] = np.float32(behind[i] - before[i])


@compiled(fast=ANY_ORDER)
def _products(differences: Short, window: Short, windowed: Short, products: Array) -> None:
    """Of BLOCK frames with themselves, 0 to ORDER frames late, all in one go; *windowed* begins with ORDER zeros."""
    for i in range(BLOCK):
        windowed[ORDER + i] = differences[ORDER + i] * window[i]
    x = windowed
    p0 = p1 = p2 = p3 = p4 = p5 = p6 = p7 = p8 = np.float32(0.0)
    for i in range(BLOCK):
        now = x[i + 8]
        p0 += now * now
        p1 += now * x[i + 7]
        p2 += now * x[i + 6]
        p3 += now * x[i + 5]
        p4 += now * x[i + 4]
        p5 += now * x[i + 3]
        p6 += now * x[i + 2]
        p7 += now * x[i + 1]
        p8 += now * x[i]
    products[:] = np.array((p0, p1, p2, p3, p4, p5, p6, p7, p8))


@compiled()
def _filter(before: Array, behind: Array, predictor: Array, total: Array, turned: Array) -> None:
    """What predicts both neighbours alike, however loud each is; *total* and *turned* are (PRODUCTS,) to work in."""
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
def _add_pairs(x: Short, sums: Short) -> None:
    for i in range(len(sums)):
        sums[i] = x[2 * i] + x[2 * i + 1]


@compiled(fast=ANY_ORDER)
def _fourth_powers(left: Short, room: Short, sums: Array) -> None:
    """Of BLOCK values, summed up to as many as *sums* holds; pairs of neighbours are added again and again.

    That is three times as fast as one sum for each stretch. *room* is (2, BLOCK / 2) to work in.
    """
    count = BLOCK // 2
    these, those = room[0], room[1]
    for i in range(BLOCK // 2):
        one, other = left[2 * i] * left[2 * i], left[2 * i + 1] * left[2 * i + 1]
        these[i] = one * one + other * other
    while count > len(sums):
        count //= 2
        _add_pairs(these, those[:count])
        these, those = those, these
    for i in range(count):
        sums[i] = these[i]


@compiled()
def roughness(samples: Array, window: Short, times: int, products: Array, rough: Array) -> None:
    """Sums of fourth powers of the whitened differences, for each stretch of the lead and all blocks but the last.

    Parameters
    ----------
    samples : (lead(times) + blocks * BLOCK * times,) one channel
    window : (BLOCK,) for what the predictor learns from
    times : 1, 2, 4 ... 32: blocks and stretches are that many times as long
    products : (2, PRODUCTS) of the last two blocks before; kept from piece to piece, begin with zeros
    rough : (blocks * PER_BLOCK,), the result
    """
    block = BLOCK * times
    differences = np.zeros((2, ORDER + block), np.float32)
    left, room = np.zeros(BLOCK, np.float32), np.zeros((2, BLOCK // 2), np.float32)
    windowed = np.zeros(ORDER + BLOCK, np.float32)
    predictor, behind, total, turned = np.zeros((4, PRODUCTS))
    middle, part = (block - BLOCK) // 2, PER_BLOCK // times
    _differences(samples[: 1 + ORDER + block], differences[0])
    for k in range(len(rough) // PER_BLOCK):
        this, coming = differences[k % 2], differences[(k + 1) % 2]
        begin = (k + 1) * block
        _differences(samples[begin : begin + 1 + ORDER + block], coming)
        _products(coming[middle : middle + ORDER + BLOCK], window, windowed, behind)
        _filter(products[0], behind, predictor, total, turned)
        products[0] = products[1]
        products[1] = behind
        for t in range(times):
            _whitened(this[t * BLOCK : (t + 1) * BLOCK + ORDER], predictor, left)
            first = k * PER_BLOCK + t * part
            _fourth_powers(left, room, rough[first : first + part])


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
