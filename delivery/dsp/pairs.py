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
LOW_STATE = 11
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
        lefts, rights = left[at:end], right[at:end]  # indices that cannot be negative: three times as fast
        for i in range(len(lefts)):
            x, y = lefts[i], rights[i]
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
    count = len(thinned)
    eights = x[: THINNING * count].reshape((count, THINNING))
    rising = np.empty(count + 1)
    rising[0] = before
    for i in range(count):
        a, b, c, d = eights[i, 0], eights[i, 1], eights[i, 2], eights[i, 3]
        e, f, g, h = eights[i, 4], eights[i, 5], eights[i, 6], eights[i, 7]
        thinned[i] = ((a + b) + (c + d)) + ((e + f) + (g + h))
        sloped = ((a + 3 * b) + (5 * c + 7 * d)) + ((9 * e + 11 * f) + (13 * g + 15 * h))
        rising[i + 1] = sloped / (2 * THINNING)
    for i in range(count):
        thinned[i] = (rising[i] + thinned[i] - rising[i + 1]) / THINNING
    return float(rising[count])


BINOMIAL = (1.0, 4.0, 6.0, 4.0, 1.0)
"""Numerator of every fourth-order Butterworth low-pass (bilinear transform); its sum is 16."""


def smoother() -> Array:
    """(13,) weights: binomial before every second sample is kept, then the numerator all the low-passes share.

    The first part has four zeros at half the rate: what would fold onto 300 Hz at 5.5 kHz is 62 dB down.
    """
    shared = np.zeros(2 * len(BINOMIAL) - 1)
    shared[::2] = BINOMIAL
    return np.convolve(np.array(BINOMIAL) / 16, shared)


@compiled(fast=ANY_ORDER)
def every_second(x: Array, weights: Array, kept: Array) -> None:
    """Weigh each (len(weights),) neighbours of *x*, and keep every second sum: (2 n + len(weights) - 2,) to (n,)."""
    for i in range(len(kept)):
        total = 0.0
        for k in range(len(weights)):
            total += weights[k] * x[2 * i + k]
        kept[i] = total


def low_pass(frequency_hz: float, rate_hz: float) -> Array:
    """(5,): gain, and a1, a2 of both halves of a fourth-order Butterworth low-pass, without its numerator."""
    k = math.tan(math.pi * frequency_hz / rate_hz)
    a, c = (1 + 2 * k * math.cos(angle) + k * k for angle in (math.pi / 8, 3 * math.pi / 8))
    halves = [(2 * (k * k - 1) / a0, (2 + 2 * k * k - a0) / a0) for a0 in (a, c)]
    return np.array([k**4 / (a * c), *halves[0], *halves[1]])


@compiled()
def low_sums(left: Array, right: Array, band: Array, ends: Integers, state: Array, sums: Array) -> None:
    """As :func:`pair_sums`, of both channels behind one of the low-passes.

    Parameters
    ----------
    left, right : (frames,) behind the numerator
    band : from :func:`low_pass`
    ends : (steps,) from ``kweighting.step_ends``
    state : (LOW_STATE,) zeros at the start, kept between blocks
    sums : (steps, SUMS), the result
    """
    gain, a1, a2, c1, c2 = band
    u1, u2, s1, s2, v1, v2, t1, t2, a, b, product = state
    at = 0
    for step in range(len(ends) + 1):
        end = ends[step] if step < len(ends) else len(left)
        lefts, rights = left[at:end], right[at:end]
        for i in range(len(lefts)):  # the newest feedback comes last: each sample waits for one product only
            u = (lefts[i] - a2 * u2) - a1 * u1
            v = (rights[i] - a2 * v2) - a1 * v1
            s = (u - c2 * s2) - c1 * s1
            t = (v - c2 * t2) - c1 * t1
            u2, u1, s2, s1 = u1, u, s1, s
            v2, v1, t2, t1 = v1, v, t1, t
            a += s * s
            b += t * t
            product += s * t
        at = end
        if step < len(ends):
            energy, twice = gain * gain * (a + b), gain * gain * 2 * product
            sums[step, LEFT], sums[step, RIGHT] = gain * gain * a, gain * gain * b
            sums[step, SUM], sums[step, DIFFERENCE] = energy + twice, energy - twice
            a = b = product = 0.0
            if abs(u1) + abs(s1) + abs(v1) + abs(t1) < STILL:
                u1 = u2 = s1 = s2 = v1 = v2 = t1 = t2 = 0.0
    state[:] = np.array((u1, u2, s1, s2, v1, v2, t1, t2, a, b, product))
