"""Loops over every sample: K-weighted power, and sums of samples and of their squares.

C types are declared in ``_loops.pxd``. Long sums are written as parallel lanes: compilers may not reorder
floating-point sums, so every processor gives the same figures.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.loudness.layout import HISTORY, STEPS_PER_S

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


def _numerators(x: Array, at: int, count: int, before: Array, taps: Array, out: Array) -> None:
    """Both filters' numerators combined, from x[at] on; *before* holds the four samples before x[0]."""
    n0, n1, n2, n3, n4 = taps[0], taps[1], taps[2], taps[3], taps[4]
    early = min(max(HISTORY - at, 0), count)
    for i in range(early):
        total = n0 * x[at + i]
        for k in range(1, HISTORY + 1):
            j = at + i - k
            past = x[j] if j >= 0 else before[HISTORY + j]
            total += taps[k] * past
        out[i] = total
    for i in range(early, count):
        j = at + i
        out[i] = ((n0 * x[j] + n1 * x[j - 1]) + (n2 * x[j - 2] + n3 * x[j - 3])) + n4 * x[j - 4]


def weighted_energy(
    planar: Array, ends: Integers, coefficients: Array, weights: Array, state: Array, energy: Array
) -> None:
    """Add G * y * y of every channel to *energy*, one entry for each step that ends in this block.

    Parameters
    ----------
    planar : (channels, frames) float64
    ends : (steps,) int64, from ``k_weighting.step_ends``
    coefficients : (7,) from ``k_weighting_design.k_coefficients``
    weights : (channels,) float64
    state : (channels, STATE_SIZE) float64, zeros at the start, kept between blocks
    energy : (steps,) float64, zeros; the result
    """
    b0, b1, b2 = coefficients[0], coefficients[1], coefficients[2]
    taps = np.array([b0, b1 - 2 * b0, b2 - 2 * b1 + b0, b1 - 2 * b2, b2])
    feedback = np.array(coefficients[3:])
    room = np.empty((2, STRETCH))
    with cython.nogil:
        for left in range(0, len(planar), 2):
            _pair_energy(planar, left, ends, taps, feedback, weights, state, energy, room[0], room[1])
        _keep_last(planar, state)


def _pair_energy(
    planar: Array,
    left: int,
    ends: Integers,
    taps: Array,
    feedback: Array,
    weights: Array,
    state: Array,
    energy: Array,
    p: Array,
    q: Array,
) -> None:
    """Two channels at a time hide each other's latency; an odd last one is processed twice."""
    frames = planar.shape[1]
    right = min(left + 1, len(planar) - 1)
    a1, a2, c1, c2 = feedback[0], feedback[1], feedback[2], feedback[3]
    h = HISTORY
    u1, u2, s1, s2, e = state[left, h], state[left, h + 1], state[left, h + 2], state[left, h + 3], state[left, h + 4]
    v1, v2, t1, t2 = state[right, h], state[right, h + 1], state[right, h + 2], state[right, h + 3]
    f = state[right, h + 4]
    at = step = 0
    while at < frames:
        end = min(at + STRETCH, ends[step] if step < len(ends) else frames)
        _numerators(planar[left], at, end - at, state[left], taps, p)
        _numerators(planar[right], at, end - at, state[right], taps, q)
        for i in range(end - at):  # the newest feedback is added last, so that each sample waits for one product only
            u = (p[i] - a2 * u2) - a1 * u1
            v = (q[i] - a2 * v2) - a1 * v1
            s = (u - c2 * s2) - c1 * s1
            t = (v - c2 * t2) - c1 * t1
            u2, u1, s2, s1 = u1, u, s1, s
            v2, v1, t2, t1 = v1, v, t1, t
            e += s * s
            f += t * t
        at = end
        if step < len(ends) and at == ends[step]:
            energy[step] += weights[left] * e
            if right != left:
                energy[step] += weights[right] * f
            e = f = 0.0
            step += 1
            if abs(u1) + abs(u2) + abs(s1) + abs(s2) < STILL:
                u1 = u2 = s1 = s2 = 0.0
            if abs(v1) + abs(v2) + abs(t1) + abs(t2) < STILL:
                v1 = v2 = t1 = t2 = 0.0
    state[left, h], state[left, h + 1], state[left, h + 2], state[left, h + 3], state[left, h + 4] = u1, u2, s1, s2, e
    if right != left:
        state[right, h], state[right, h + 1], state[right, h + 2], state[right, h + 3] = v1, v2, t1, t2
        state[right, h + 4] = f


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
