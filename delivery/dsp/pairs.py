"""Two channels beside each other: sums of their squares, of their sum and of their difference, step by step."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import ANY_ORDER, compiled
from delivery.dsp.gating import sliding_sums
from delivery.dsp.series import Series

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

LEFT, RIGHT, SUM, DIFFERENCE = 0, 1, 2, 3
SUMS = 4
BATCH_STEPS = 1024
"""Steps are looked at in batches: windows are many and small."""
THINNING = 8
STILL = 1e-30
"""Outputs smaller than this are set to zero: a filter ringing out into silence is slow."""


@compiled(fast=ANY_ORDER)
def pair_sums(left: Array, right: Array, ends: Integers, open_sums: Array, sums: Array) -> None:
    """Squares of left, right, left + right and left - right, summed up to each of *ends*.

    Parameters
    ----------
    left, right : (frames,)
    ends : (steps,) from ``kweighting.step_ends``
    open_sums : (SUMS,) of the step that is not finished yet, kept between blocks
    sums : (steps, SUMS), the result
    """
    a, b, c, d = open_sums
    at = 0
    for step in range(len(ends) + 1):
        end = ends[step] if step < len(ends) else len(left)
        for i in range(at, end):
            x, y = left[i], right[i]
            a += x * x
            b += y * y
            c += (x + y) * (x + y)
            d += (x - y) * (x - y)
        at = end
        if step < len(ends):
            sums[step, LEFT], sums[step, RIGHT], sums[step, SUM], sums[step, DIFFERENCE] = a, b, c, d
            a = b = c = d = 0.0
    open_sums[0], open_sums[1], open_sums[2], open_sums[3] = a, b, c, d


def correlation(sums: Array) -> Array:
    """(..., SUMS) to (...): sum of products over the root of both energies, -1 to 1; 0 where a channel is silent."""
    product = (sums[..., SUM] - sums[..., DIFFERENCE]) / 4
    energies = np.sqrt(sums[..., LEFT] * sums[..., RIGHT])
    return np.asarray(np.clip(np.divide(product, energies, out=np.zeros_like(product), where=energies > 0), -1.0, 1.0))


class LowestCorrelation:
    """The lowest correlation over windows of neighbouring steps, found while they go by.

    Windows whose mean square is not above *quiet* are not asked: that would be the noise floor's answer.
    """

    def __init__(self, window_steps: int, step_frames: float, quiet: float) -> None:
        self._window = window_steps
        self._least = 2 * quiet * window_steps * step_frames
        self._waiting = Series(SUMS)
        self._passed = 0
        self._lowest, self._at = math.inf, 0

    def append(self, sums: Array) -> None:
        """Take the next (steps, SUMS) from :func:`pair_sums`."""
        self._waiting.append(sums)
        if len(self._waiting) >= BATCH_STEPS:
            self._look()

    def _look(self) -> None:
        steps = self._waiting.rows
        windows = np.stack([sliding_sums(column, self._window) for column in steps.T], axis=-1)
        loud = np.flatnonzero(windows[:, LEFT] + windows[:, RIGHT] > self._least)
        if len(loud):
            correlations = correlation(windows[loud])
            least = int(correlations.argmin())
            if correlations[least] < self._lowest:
                self._lowest, self._at = float(correlations[least]), self._passed + int(loud[least])
        self._passed += len(windows)
        self._waiting = Series(SUMS)
        self._waiting.append(steps[len(windows) :])

    @property
    def windows(self) -> int:
        """How many whole windows went by."""
        return self._passed + max(len(self._waiting) - self._window + 1, 0)

    def result(self) -> tuple[float, int] | None:
        """The lowest correlation and the step its window begins at; None when no window was loud enough."""
        if self.windows > self._passed:
            self._look()
        return None if math.isinf(self._lowest) else (self._lowest, self._at)


@compiled(fast=ANY_ORDER)
def thin(x: Array, before: float, thinned: Array) -> float:
    """Keep every THINNING-th sample behind a triangle of twice that length.

    The triangle's response is that of a box, squared: it has double zeros at the multiples of the new rate, which
    are the places that would fold onto the lowest frequencies.

    Parameters
    ----------
    x : (THINNING * n,) samples
    before : what this function returned for the samples before; 0 at the start
    thinned : (n,) the result
    """
    for i in range(len(thinned)):
        at = THINNING * i
        a, b, c, d = x[at], x[at + 1], x[at + 2], x[at + 3]
        e, f, g, h = x[at + 4], x[at + 5], x[at + 6], x[at + 7]
        whole = ((a + b) + (c + d)) + ((e + f) + (g + h))
        rising = ((a + 3 * b) + (5 * c + 7 * d)) + ((9 * e + 11 * f) + (13 * g + 15 * h))
        rising /= 2 * THINNING
        thinned[i] = (before + whole - rising) / THINNING
        before = rising
    return before


def low_pass(frequency_hz: float, rate_hz: float) -> Array:
    """(2, 5): b0, b1, b2, a1, a2 of both halves of a fourth-order Butterworth low-pass (bilinear transform)."""
    k = math.tan(math.pi * frequency_hz / rate_hz)
    halves = []
    for q in (1 / (2 * math.cos(math.pi / 8)), 1 / (2 * math.cos(3 * math.pi / 8))):
        a0 = 1 + k / q + k * k
        halves.append([k * k / a0, 2 * k * k / a0, k * k / a0, 2 * (k * k - 1) / a0, (1 - k / q + k * k) / a0])
    return np.array(halves)


@compiled()
def filtered(left: Array, right: Array, halves: Array, state: Array) -> None:
    """Filter both channels in place; *state* is (2, 6), zeros at the start, kept between blocks."""
    b0, b1, b2, a1, a2 = halves[0]
    d0, d1, d2, c1, c2 = halves[1]
    x1, x2, u1, u2, s1, s2 = state[0]
    y1, y2, v1, v2, t1, t2 = state[1]
    for i in range(len(left)):
        x, y = left[i], right[i]
        u = (b0 * x + b1 * x1 + b2 * x2 - a2 * u2) - a1 * u1
        v = (b0 * y + b1 * y1 + b2 * y2 - a2 * v2) - a1 * v1
        s = (d0 * u + d1 * u1 + d2 * u2 - c2 * s2) - c1 * s1
        t = (d0 * v + d1 * v1 + d2 * v2 - c2 * t2) - c1 * t1
        x2, x1, u2, u1, s2, s1 = x1, x, u1, u, s1, s
        y2, y1, v2, v1, t2, t1 = y1, y, v1, v, t1, t
        left[i], right[i] = s, t
    if abs(u1) + abs(u2) + abs(s1) + abs(s2) < STILL:
        u1 = u2 = s1 = s2 = 0.0
    if abs(v1) + abs(v2) + abs(t1) + abs(t2) < STILL:
        v1 = v2 = t1 = t2 = 0.0
    state[0] = x1, x2, u1, u2, s1, s2
    state[1] = y1, y2, v1, v2, t1, t2
