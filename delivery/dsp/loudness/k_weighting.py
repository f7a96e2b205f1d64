"""The power that K-weighting leaves, in steps of 10 ms. ITU-R BS.1770-5, Annex 1; ``kdesign`` has the filters."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import ANY_ORDER, compiled

Array = NDArray[np.float64]

STEPS_PER_S = 100
HISTORY = 4
STATE_SIZE = HISTORY + 5
"""The last four samples, the last two of each filter's output, and the energy of the step that is not finished yet."""
STRETCH = 512
STILL = 1e-30
"""Outputs smaller than this are set to zero at the end of a step: a filter ringing out into silence is slow."""


def step_ends(first: int, frames: int, rate_hz: int, steps_per_s: int = STEPS_PER_S) -> NDArray[np.int64]:
    """Where steps end in a block of *frames* that begins at frame *first*: counted from the block's start, 1..frames.

    Step k ends at frame round(k * rate / steps_per_s); steps of odd rates differ by one frame.
    """
    begin = _steps_ended(first, rate_hz, steps_per_s) + 1
    end = _steps_ended(first + frames, rate_hz, steps_per_s)
    k = np.arange(begin, end + 1, dtype=np.int64)
    return (k * rate_hz + steps_per_s // 2) // steps_per_s - first


@compiled()
def step_end(k: int, rate_hz: int) -> int:
    """Frame at which step k of 10 ms ends, counted from the file's start."""
    return (k * rate_hz + STEPS_PER_S // 2) // STEPS_PER_S


def _steps_ended(frame: int, rate_hz: int, steps_per_s: int) -> int:
    """How many steps end at or before *frame*."""
    k = frame * steps_per_s // rate_hz + 1
    while (k * rate_hz + steps_per_s // 2) // steps_per_s > frame:
        k -= 1
    return k


@compiled()
def _numerators(x: Array, at: int, before: Array, taps: Array, out: Array) -> None:
    """Both filters' numerators in one, from x[at] on; *before* holds the four samples ahead of x[0]."""
    n0, n1, n2, n3, n4 = taps
    early = min(max(HISTORY - at, 0), len(out))
    for i in range(early):
        total = n0 * x[at + i]
        for k in range(1, HISTORY + 1):
            j = at + i - k
            total += taps[k] * (x[j] if j >= 0 else before[HISTORY + j])
        out[i] = total
    rest = out[early:]
    j = at + early
    x0, x1, x2, x3, x4 = x[j:], x[j - 1 :], x[j - 2 :], x[j - 3 :], x[j - 4 :]
    for i in range(len(rest)):
        rest[i] = ((n0 * x0[i] + n1 * x1[i]) + (n2 * x2[i] + n3 * x3[i])) + n4 * x4[i]


@compiled()
def weighted_energy(
    planar: Array, ends: NDArray[np.int64], coefficients: Array, weights: Array, state: Array, energy: Array
) -> None:
    """Add G * y * y of every channel into *energy*, one entry for each step that ends in this block.

    Parameters
    ----------
    planar : (channels, frames) float64
    ends : (steps,) int64, from :func:`step_ends`
    coefficients : (7,) from ``kdesign.k_coefficients``
    weights : (channels,) float64
    state : (channels, STATE_SIZE) float64, zeros at the start, kept between blocks
    energy : (steps,) float64, zeros; the result
    """
    channels, frames = planar.shape
    b0, b1, b2, a1, a2, c1, c2 = coefficients
    taps = np.array([b0, b1 - 2 * b0, b2 - 2 * b1 + b0, b1 - 2 * b2, b2])
    p, q = np.empty(STRETCH), np.empty(STRETCH)
    for left in range(0, channels, 2):
        right = min(left + 1, channels - 1)  # two at a time hide each other's waiting; an odd last one is done twice
        u1, u2, s1, s2, e = state[left, HISTORY:]
        v1, v2, t1, t2, f = state[right, HISTORY:]
        at = step = 0
        while at < frames:
            end = min(at + STRETCH, ends[step] if step < len(ends) else frames)
            _numerators(planar[left], at, state[left, :HISTORY], taps, p[: end - at])
            _numerators(planar[right], at, state[right, :HISTORY], taps, q[: end - at])
            for i in range(end - at):  # the newest feedback comes last: each sample waits for one product only
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
        state[left, HISTORY:] = np.array((u1, u2, s1, s2, e))
        if right != left:
            state[right, HISTORY:] = np.array((v1, v2, t1, t2, f))
    kept = min(frames, HISTORY)
    for c in range(channels):
        for k in range(HISTORY - kept):
            state[c, k] = state[c, k + kept]
        for k in range(kept):
            state[c, HISTORY - kept + k] = planar[c, frames - kept + k]


@compiled(fast=ANY_ORDER)
def window_powers(energy: Array, rate_hz: int, width: int, apart: int, powers: Array) -> tuple[float, int]:
    """Mean squares of windows of *width* steps of 10 ms.

    Parameters
    ----------
    energy : (steps,) from :func:`weighted_energy`
    apart : steps from one window to the next of those that are kept
    powers : room for the kept ones; the result

    Returns
    -------
    The highest of the windows that begin at any step, and the step it begins at; every window is summed by itself,
    since differences of a running total would lose quiet windows.
    """
    highest, highest_at = -1.0, 0
    for first in range(len(energy) - width + 1):
        total = 0.0
        window = energy[first : first + width]
        for k in range(width):
            total += window[k]
        power = total / (step_end(first + width, rate_hz) - step_end(first, rate_hz))
        if power > highest:
            highest, highest_at = power, first
        if first % apart == 0:
            powers[first // apart] = power
    return highest, highest_at
