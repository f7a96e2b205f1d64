"""The loops that estimate the motion of a cutting stylus in every 5 ms, in single precision: they only choose places.

C types are in ``_loops.pxd``. Each pass over a cell is a loop of its own, which becomes vectors.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.cutting.layout import HISTORY, ROWS

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
    from delivery.dsp.uncompiled import report

    report()

Array = NDArray[np.float64]
Singles = NDArray[np.float32]


def estimate(first: Array, second: Array, sign: float, thinning: int, weights: Singles, peaks: Array) -> None:
    """Highest estimated velocity and acceleration of *first* + *sign* x *second*, in each cell.

    Parameters
    ----------
    first, second : (cells * width * thinning,) samples of two channels
    weights : (10,) from ``recording_curve.estimate_weights``
    peaks : (cells, 2), the result, relative to a sine of 1 kHz and amplitude 1 in the sum
    """
    width = len(first) // (len(peaks) * thinning)
    room = np.zeros((ROWS, width + HISTORY), np.float32)
    with cython.nogil:
        for cell in range(len(peaks)):
            _thin(first, second, sign, thinning, cell * width * thinning, room[0])
            _add_before(room[0], weights[0], 1, room[1])
            _add_before(room[1], weights[1], 2, room[2])
            _add_before(room[2], weights[2], 4, room[3])
            _low_pass(room[3], weights[3], room[4])
            _velocity(room[0], room[4], weights, room[5])
            _acceleration(room[5], weights, room[6])
            peaks[cell, 0] = _largest(room[5])
            peaks[cell, 1] = _largest(room[6])
            for row in range(ROWS):
                for i in range(HISTORY):
                    room[row, i] = room[row, width + i]


def _thin(first: Array, second: Array, sign: float, thinning: int, at: int, thinned: Singles) -> None:
    count = len(thinned) - HISTORY
    if thinning == 1:
        for i in range(count):
            thinned[8 + i] = first[at + i] + sign * second[at + i]
    elif thinning == 2:
        for i in range(count):
            thinned[8 + i] = (first[at + 2 * i] + first[at + 2 * i + 1]) + sign * (
                second[at + 2 * i] + second[at + 2 * i + 1]
            )
    else:
        for i in range(count):
            total = 0.0
            for k in range(thinning):
                total += first[at + thinning * i + k] + sign * second[at + thinning * i + k]
            thinned[8 + i] = total


def _add_before(x: Singles, weight: float, lag: int, y: Singles) -> None:
    """Add the weighted sample *lag* before: three of these are the first eight terms of a first-order low-pass."""
    for i in range(HISTORY, len(x)):
        y[i] = x[i] + weight * x[i - lag]


def _low_pass(x: Singles, weight: float, y: Singles) -> None:
    """The rest of the low-pass, from its output eight samples before: eight lanes that do not wait for each other."""
    state = [0.0] * 8
    for k in range(8):
        state[k] = y[k]
    for i in range(8, len(x) - 7, 8):
        for k in range(8):
            state[k] = x[i + k] + weight * state[k]
            y[i + k] = state[k]


def _velocity(x: Singles, low: Singles, weights: Singles, velocity: Singles) -> None:
    """Half a sample and one more before each place: mean of the signal less its low band, and the slope."""
    less, own, near, far = weights[4], weights[5], weights[6], weights[7]
    for i in range(HISTORY, len(x)):
        velocity[i] = (own * (x[i - 1] + x[i - 2]) - less * (low[i - 1] + low[i - 2])) + (
            near * (x[i - 1] - x[i - 2]) + far * (x[i] - x[i - 3])
        )


def _acceleration(velocity: Singles, weights: Singles, acceleration: Singles) -> None:
    near, far = weights[8], weights[9]
    for i in range(HISTORY, len(velocity)):
        acceleration[i] = near * (velocity[i - 1] - velocity[i - 2]) + far * (velocity[i] - velocity[i - 3])


def _largest(x: Singles) -> float:
    """Largest absolute value behind the history."""
    tops = [0.0] * 32
    end = 8 + (len(x) - 8) // 32 * 32
    for i in range(8, end, 32):
        for k in range(32):
            height = abs(x[i + k])
            tops[k] = height if height > tops[k] else tops[k]
    for i in range(end, len(x)):
        height = abs(x[i])
        tops[0] = height if height > tops[0] else tops[0]
    top = tops[0]
    for k in range(1, 32):
        top = tops[k] if tops[k] > top else top
    return top
