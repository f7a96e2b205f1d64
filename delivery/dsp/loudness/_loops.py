"""Loops over every sample: K-weighted power, and sums of samples and of their squares.

C types are declared in ``_loops.pxd``. Long sums are written as parallel lanes: compilers may not reorder
floating-point sums, so every processor gives the same figures.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.loudness.layout import HISTORY, OPEN, STATE_SIZE, STEPS_PER_S

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
    from delivery.dsp.uncompiled import report

    report()

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

STRETCH = 512
STILL = 1e-30
"""Filter outputs smaller than this are set to zero at the end of a step: denormal numbers are slow."""


def weighted_energy(planar: Array, ends: Integers, columns: Array, weights: Array, state: Array, energy: Array) -> None:
    """Add G * y * y of every channel to *energy*, one entry for each step that ends in this block.

    Parameters
    ----------
    planar : (channels, frames) float64
    ends : (steps,) int64, from ``k_weighting.step_ends``
    columns : from ``k_weighting_design.unfolded``
    weights : (channels,) float64
    state : (channels, STATE_SIZE) float64, zeros at the start, kept between blocks
    energy : (steps,) float64, zeros; the result
    """
    room, spare = np.empty((2, STRETCH + 2)), np.empty(STATE_SIZE)
    with cython.nogil:
        for left in range(0, len(planar), 2):
            if left + 1 < len(planar):
                _pair_energy(planar, left, left + 1, ends, columns, weights, state[left + 1], state, energy, room)
            else:
                for k in range(STATE_SIZE):
                    spare[k] = state[left, k]
                _pair_energy(planar, left, left, ends, columns, weights, spare, state, energy, room)
        _keep_last(planar, state)


def _pair_energy(
    planar: Array,
    left: int,
    right: int,
    ends: Integers,
    columns: Array,
    weights: Array,
    other: Array,
    state: Array,
    energy: Array,
    room: Array,
) -> None:
    """Two channels at a time hide each other's latency; a single one is taken twice. *other*: state of *right*."""
    frames = planar.shape[1]
    at = step = 0
    e, f = state[left, OPEN], other[OPEN]
    while at < frames:
        end = min(at + STRETCH, ends[step] if step < len(ends) else frames)
        _differences(planar[left], at, end - at, state[left], room[0])
        _differences(planar[right], at, end - at, other, room[1])
        a, b = _weighted(room[0], room[1], end - at, columns, state[left], other)
        e += a
        f += b
        at = end
        if step < len(ends) and at == ends[step]:
            energy[step] += weights[left] * e
            if right != left:
                energy[step] += weights[right] * f
            e = f = 0.0
            step += 1
            _settle(state[left])
            _settle(other)
    state[left, OPEN], other[OPEN] = e, f


def _differences(x: Array, at: int, count: int, before: Array, differences: Array) -> None:
    """Numerator of the high-pass, from two samples before x[at] on: exact, so that an offset leaves nothing."""
    early = min(max(HISTORY - at, 0), count + 2)
    for i in range(early):
        j = at + i - HISTORY
        a = x[j + 2] if j + 2 >= 0 else before[HISTORY + j + 2]
        b = x[j + 1] if j + 1 >= 0 else before[HISTORY + j + 1]
        c = x[j] if j >= 0 else before[HISTORY + j]
        differences[i] = (a - b) - (b - c)
    for i in range(early, count + 2):
        j = at + i - 2
        differences[i] = (x[j] - x[j - 1]) - (x[j - 1] - x[j - 2])


def _weighted(x: Array, y: Array, count: int, columns: Array, left: Array, right: Array) -> tuple[float, float]:
    """Energies of *count* outputs of two channels, eight at a time; the last four stay in the states."""
    a, b, c, d, e, f, g, h = [0.0] * 8, [0.0] * 8, [0.0] * 8, [0.0] * 8, [0.0] * 8, [0.0] * 8, [0.0] * 8, [0.0] * 8
    m, n, q, r, s, t = [0.0] * 8, [0.0] * 8, [0.0] * 8, [0.0] * 8, [0.0] * 8, [0.0] * 8
    u, v, lefts, rights = [0.0] * 8, [0.0] * 8, [0.0] * 8, [0.0] * 8
    for k in range(8):
        a[k], b[k], c[k], d[k] = columns[0, k], columns[1, k], columns[2, k], columns[3, k]
        e[k], f[k], g[k], h[k] = columns[4, k], columns[5, k], columns[6, k], columns[7, k]
        m[k], n[k] = columns[8, k], columns[9, k]
        q[k], r[k], s[k], t[k] = columns[10, k], columns[11, k], columns[12, k], columns[13, k]
    for k in range(4):
        u[7 - k], v[7 - k] = left[HISTORY + k], right[HISTORY + k]
    whole = count // 8 * 8
    for i in range(0, whole, 8):
        u0, u1, u2, u3 = u[7], u[7] - u[6], u[6] - u[5], u[5] - u[4]
        v0, v1, v2, v3 = v[7], v[7] - v[6], v[6] - v[5], v[5] - v[4]
        for k in range(8):
            u[k] = (
                (((a[k] * x[i] + b[k] * x[i + 1]) + (c[k] * x[i + 2] + d[k] * x[i + 3])) + m[k] * x[i + 8])
                + (((e[k] * x[i + 4] + f[k] * x[i + 5]) + (g[k] * x[i + 6] + h[k] * x[i + 7])) + n[k] * x[i + 9])
            ) + ((q[k] * u0 + r[k] * u1) + (s[k] * u2 + t[k] * u3))
        for k in range(8):
            v[k] = (
                (((a[k] * y[i] + b[k] * y[i + 1]) + (c[k] * y[i + 2] + d[k] * y[i + 3])) + m[k] * y[i + 8])
                + (((e[k] * y[i + 4] + f[k] * y[i + 5]) + (g[k] * y[i + 6] + h[k] * y[i + 7])) + n[k] * y[i + 9])
            ) + ((q[k] * v0 + r[k] * v1) + (s[k] * v2 + t[k] * v3))
        for k in range(8):
            lefts[k] += u[k] * u[k]
            rights[k] += v[k] * v[k]
    for k in range(4):
        left[HISTORY + k], right[HISTORY + k] = u[7 - k], v[7 - k]
        lefts[k], rights[k] = lefts[k] + lefts[k + 4], rights[k] + rights[k + 4]
    for i in range(whole, count):
        lefts[0] += _next(x, i, columns, left)
        rights[0] += _next(y, i, columns, right)
    return (lefts[0] + lefts[1]) + (lefts[2] + lefts[3]), (rights[0] + rights[1]) + (rights[2] + rights[3])


def _next(x: Array, i: int, columns: Array, state: Array) -> float:
    """The square of the next output, by the first of *columns*."""
    q, r, s, t = state[HISTORY], state[HISTORY + 1], state[HISTORY + 2], state[HISTORY + 3]
    total = (columns[0, 0] * x[i] + columns[1, 0] * x[i + 1]) + columns[2, 0] * x[i + 2]
    total += (columns[10, 0] * q + columns[11, 0] * (q - r)) + (columns[12, 0] * (r - s) + columns[13, 0] * (s - t))
    state[HISTORY], state[HISTORY + 1], state[HISTORY + 2], state[HISTORY + 3] = total, q, r, s
    return total * total


def _settle(state: Array) -> None:
    if abs(state[4]) + abs(state[5]) + abs(state[6]) + abs(state[7]) < STILL:
        state[4] = state[5] = state[6] = state[7] = 0.0


def _keep_last(planar: Array, state: Array) -> None:
    frames = planar.shape[1]
    kept = min(frames, HISTORY)
    for c in range(len(planar)):
        for k in range(HISTORY - kept):
            state[c, k] = state[c, k + kept]
        for k in range(kept):
            state[c, HISTORY - kept + k] = planar[c, frames - kept + k]


def step_end(k: int, rate_hz: int) -> int:
    """Frame at which the k-th step of 10 ms ends, counted from the file's start."""
    return (k * rate_hz + STEPS_PER_S // 2) // STEPS_PER_S


def window_powers(energy: Array, rate_hz: int, width: int, apart: int, powers: Array) -> tuple[float, int]:
    """Mean squares of windows of *width* steps of 10 ms.

    Parameters
    ----------
    energy : (steps,) from :func:`weighted_energy`
    apart : steps between the windows that are returned
    powers : the result, mean squares of these windows

    Returns
    -------
    Highest mean square of the windows that begin at any step, and that step. Every window is summed separately:
    differences of a running total would lose the precision of quiet windows.
    """
    with cython.nogil:
        return _window_powers(energy, rate_hz, width, apart, powers)


def _window_powers(energy: Array, rate_hz: int, width: int, apart: int, powers: Array) -> tuple[float, int]:
    highest, highest_at = -1.0, 0
    for first in range(len(energy) - width + 1):
        total = _sum(energy, first, width)
        power = total / (step_end(first + width, rate_hz) - step_end(first, rate_hz))
        if power > highest:
            highest, highest_at = power, first
        if first % apart == 0:
            powers[first // apart] = power
    return highest, highest_at


def _sum(x: Array, first: int, count: int) -> float:
    lanes = [0.0] * 8
    whole = count // 8 * 8
    for i in range(0, whole, 8):
        for k in range(8):
            lanes[k] += x[first + i + k]
    for i in range(whole, count):
        lanes[0] += x[first + i]
    return ((lanes[0] + lanes[1]) + (lanes[2] + lanes[3])) + ((lanes[4] + lanes[5]) + (lanes[6] + lanes[7]))


def step_sums(planar: Array, ends: Integers, held: int, open_sums: Array, sums: Array) -> None:
    """Sums of samples, of their squares, and of samples times their place in the step (from 0), up to each of *ends*.

    Parameters
    ----------
    planar : (channels, frames)
    ends : (steps,) from ``k_weighting.step_ends``
    held : frames of the unfinished step in earlier blocks
    open_sums : (SUMS, channels) of the unfinished step, kept between blocks
    sums : (steps, SUMS, channels), the result
    """
    with cython.nogil:
        for c in range(len(planar)):
            _step_sums(planar[c], c, ends, held, open_sums, sums)


def _step_sums(row: Array, c: int, ends: Integers, held: int, open_sums: Array, sums: Array) -> None:
    at = 0
    for step in range(len(ends) + 1):
        end = ends[step] if step < len(ends) else len(row)
        before = held if step == 0 else 0
        a, b, m = _moments(row, at, end)
        open_sums[0, c] += a
        open_sums[1, c] += b
        open_sums[2, c] += m + before * a
        at = end
        if step < len(ends):
            for k in range(3):
                sums[step, k, c] = open_sums[k, c]
                open_sums[k, c] = 0.0


def _moments(x: Array, at: int, end: int) -> tuple[float, float, float]:
    """Sum, sum of squares, and sum of samples times their distance from x[at]."""
    a, b, m = [0.0] * 8, [0.0] * 8, [0.0] * 8
    whole = (end - at) // 8 * 8
    place = 0.0
    for i in range(0, whole, 8):
        for k in range(8):
            value = x[at + i + k]
            a[k] += value
            b[k] += value * value
            m[k] += value * place
        place += 8.0
    for k in range(8):
        m[k] += k * a[k]  # offset of each lane from the first
    for i in range(whole, end - at):
        value = x[at + i]
        a[0] += value
        b[0] += value * value
        m[0] += value * i
    for k in range(4):
        a[k], b[k], m[k] = a[k] + a[k + 4], b[k] + b[k + 4], m[k] + m[k + 4]
    return (a[0] + a[1]) + (a[2] + a[3]), (b[0] + b[1]) + (b[2] + b[3]), (m[0] + m[1]) + (m[2] + m[3])
