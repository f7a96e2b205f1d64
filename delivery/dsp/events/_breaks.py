"""Loops that look for places where the sound is softer for some milliseconds.

C types are declared in ``_breaks.pxd``. Long sums are written as parallel lanes: compilers may not reorder
floating-point sums, so every processor gives the same figures.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.events.layout import (
    DIP_BEGINS,
    DIP_CHANGE,
    DIP_DEPTH,
    DIP_EARLIER,
    DIP_ENDS,
    DIP_FALLS,
    DIP_LATER,
    DIP_RISES,
    DIP_SLOPE,
    LONGEST_DIP,
)

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
    from numpy import log10

    from delivery.dsp.uncompiled import report

    report()

Array = NDArray[np.float64]
Steps = NDArray[np.int32]

LEAST = 1e-20
FALL = 10.0 ** (-9.0 / 10.0)
"""Share of the power before an edge that is left after it. Every power here is the mean square of one millisecond."""
BACK_UP = 10.0 ** (-5.0 / 10.0)
STILL_UP = 10.0 ** (-4.0 / 10.0)
LOUD = 10.0 ** (-45.0 / 10.0)
LEAST_DEPTH_DB = 8.0
EDGE = 14
NEAR, FAR = 10, 20
"""Milliseconds beside a dip, and beside those, whose powers are compared."""
NOW, LEAD = 3, 12
AT_ONCE = 16
"""Milliseconds converted before their squares are summed: they fit in the L1 cache."""
STEPS, MOST_STEPS = 2.0**23, 2.0**27
"""24-bit steps of full scale, and of the largest sample that is kept."""


def milliseconds(x: Array, block: int, powers: Array, moves: Array, steps: Steps) -> None:
    """Mean square of samples and of their differences in each millisecond, and the samples in steps of 24 bits.

    One pass for both, since a block is larger than the caches.

    Parameters
    ----------
    x : (1 + n * block,) one channel
    block : frames of a millisecond
    powers, moves : (n,), the results
    steps : (n * block,), the samples after the first one; what is finer than a step is left out
    """
    with cython.nogil:
        first = 0
        while first < len(powers):
            last = min(first + AT_ONCE, len(powers))
            _in_steps(x, 1 + first * block, (last - first) * block, steps)
            for k in range(first, last):
                power, move = _squares(x, 1 + k * block, block)
                powers[k], moves[k] = power / block, move / block
            first = last


def _in_steps(x: Array, begin: int, count: int, steps: Steps) -> None:
    for i in range(begin, begin + count):
        steps[i - 1] = int(max(-MOST_STEPS, min(MOST_STEPS, x[i] * STEPS)))


def _squares(x: Array, begin: int, count: int) -> tuple[float, float]:
    """Sums of the squares of samples, and of their differences from the ones before."""
    a, b = [0.0] * 8, [0.0] * 8
    whole = count // 8 * 8
    for i in range(begin, begin + whole, 8):
        for k in range(8):
            a[k] += x[i + k] * x[i + k]
            b[k] += (x[i + k] - x[i + k - 1]) * (x[i + k] - x[i + k - 1])
    if count - whole >= 4:  # as at 44.1 kHz
        i = begin + whole
        for k in range(4):
            a[k] += x[i + k] * x[i + k]
            b[k] += (x[i + k] - x[i + k - 1]) * (x[i + k] - x[i + k - 1])
        whole += 4
    for i in range(begin + whole, begin + count):
        a[0] += x[i] * x[i]
        b[0] += (x[i] - x[i - 1]) * (x[i] - x[i - 1])
    for k in range(4):
        a[k], b[k] = a[k] + a[k + 4], b[k] + b[k + 4]
    return (a[0] + a[1]) + (a[2] + a[3]), (b[0] + b[1]) + (b[2] + b[3])


def _mean(x: Array, begin: int, end: int) -> float:
    total = 0.0
    for i in range(begin, end):
        total += x[i]
    mean: float = total / max(end - begin, 1)
    return mean


def _db(power: float) -> float:
    level: float = 10.0 * log10(max(power, LEAST))
    return level


def dips(powers: Array, moves: Array, begin: int, end: int, found: Array) -> int:
    """Passages that fall within some milliseconds and rise as fast, in one channel.

    Parameters
    ----------
    powers, moves : from `milliseconds`; at least DIP_BEFORE before *begin* and DIP_AFTER from *end* on
    begin, end : where dips may begin, as indices of *powers*
    found : (n, DIP), the result; see ``layout``. Further ones are left out

    Returns
    -------
    How many rows were written.
    """
    count = 0
    with cython.nogil:
        k = begin
        while k < end:
            usual = _mean(moves, k - LEAD - NEAR, k - LEAD)
            if _falls(moves, k, usual) and count < len(found) and _mean(powers, k - LEAD - NEAR, k - LEAD) > LOUD:
                back = k
                while back < k + LONGEST_DIP and moves[back] <= BACK_UP * usual:
                    back += 1
                if k + NOW <= back < k + LONGEST_DIP and _described(powers, moves, k, back, usual, found[count]):
                    count += 1
            k += 1
    return count


def _falls(moves: Array, k: int, usual: float) -> bool:
    """True if it is far below the usual from here on, and was not one millisecond earlier."""
    if _mean(moves, k, k + NOW) >= FALL * usual:
        return False
    earlier = _mean(moves, k - 1 - LEAD - NEAR, k - 1 - LEAD)
    return moves[k - 1] > BACK_UP * usual or _mean(moves, k - 1, k - 1 + NOW) >= FALL * earlier


def _described(powers: Array, moves: Array, k: int, back: int, usual: float, row: Array) -> bool:
    """Fill *row*; False if it is not deep."""
    begins, ends = k, back
    while begins > k - EDGE and moves[begins] < STILL_UP * usual:
        begins -= 1
    while ends < back + EDGE and moves[ends] < STILL_UP * usual:
        ends += 1
    quarter = max((back - k) // 4, 1)
    first, last = k + quarter, max(back - quarter, k + quarter + 1)
    third = max((max(back - 1, k + 2) - k - 1) // 3, 1)
    row[DIP_BEGINS], row[DIP_ENDS] = begins, ends
    row[DIP_FALLS], row[DIP_RISES] = k - begins, ends - back
    for kind in range(2):
        x = powers if kind else moves
        before, after = _mean(x, begins - 1 - NEAR, begins - 1), _mean(x, ends + 1, ends + 1 + NEAR)
        row[DIP_DEPTH + kind] = _db(min(before, after)) - _db(_mean(x, first, last))
        row[DIP_CHANGE + kind] = _db(after) - _db(before)
        row[DIP_EARLIER + kind] = _db(before) - _db(_mean(x, begins - 1 - NEAR - FAR, begins - 1 - NEAR))
        row[DIP_LATER + kind] = _db(after) - _db(_mean(x, ends + 1 + NEAR, ends + 1 + NEAR + FAR))
        behind = max(back - 1, k + 2)
        row[DIP_SLOPE + kind] = _db(_mean(x, k + 1, k + 1 + third)) - _db(_mean(x, behind - third, behind))
    return bool(row[DIP_DEPTH] > LEAST_DEPTH_DB and row[DIP_DEPTH + 1] > LEAST_DEPTH_DB)
