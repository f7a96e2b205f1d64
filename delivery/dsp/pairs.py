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
LOWEST_RATE_HZ = 44_100
"""From twice this rate on, lows are halved once more, so that all rates end at 2.7 to 5.5 kHz (32 kHz: at 2)."""
HALVING_HISTORY, NUMERATOR_HISTORY = 3, 4
LOW_STATE = 11
"""Two samples of each half of the low-pass, of both channels, and three sums of the step that is not finished yet."""
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


def halvings(rate_hz: int) -> int:
    """How often the thinned-out rate is halved: down to 2 to 4 kHz, which holds 300 Hz with room to spare."""
    return max(int(math.log2(rate_hz / LOWEST_RATE_HZ)), 0) + 1


@compiled()
def halve(x: Array, kept: Array) -> None:
    """Every second sample of *x* behind a binomial of unit gain, (2 n + HALVING_HISTORY,) to (n,).

    Its four zeros at half the rate keep down what would fold onto the lows: at 5.5 kHz, what comes to lie on 300 Hz is
    62 dB down, and at higher rates more.
    """
    for i in range(len(kept)):
        kept[i] = ((x[2 * i] + x[2 * i + 4]) + 4 * (x[2 * i + 1] + x[2 * i + 3]) + 6 * x[2 * i + 2]) / 16


@compiled()
def numerator(x: Array, y: Array) -> None:
    """The numerator all the low-passes share: (n + NUMERATOR_HISTORY,) to (n,)."""
    for i in range(len(y)):
        y[i] = (x[i] + x[i + 4]) + 4 * (x[i + 1] + x[i + 3]) + 6 * x[i + 2]


@compiled()
def lows(samples: Array, before: Array, histories: Array, found: Array) -> None:
    """One channel thinned out, halved and behind the shared numerator.

    Parameters
    ----------
    samples : (THINNING * 2**halvings * n,)
    before : (1,) kept between blocks for :func:`thin`; zero at the start
    histories : (halvings + 1, NUMERATOR_HISTORY) of each halving and of the numerator; zeros at the start, kept
    found : (n,) the result
    """
    last = len(histories) - 1
    count = len(samples) // THINNING
    led = np.empty(HALVING_HISTORY + count)
    before[0] = thin(samples, before[0], led[HALVING_HISTORY:])
    for k in range(last):
        led[:HALVING_HISTORY] = histories[k, :HALVING_HISTORY]
        histories[k, :HALVING_HISTORY] = led[count:]
        count //= 2
        lead = HALVING_HISTORY if k < last - 1 else NUMERATOR_HISTORY
        halved = np.empty(lead + count)
        halve(led, halved[lead:])
        led = halved
    led[:NUMERATOR_HISTORY] = histories[last]
    histories[last] = led[count:]
    numerator(led, found)


def low_pass(frequency_hz: float, rate_hz: float) -> Array:
    """(5,): gain, and a1, a2 of both halves of a fourth-order Butterworth low-pass, without its numerator."""
    k = math.tan(math.pi * frequency_hz / rate_hz)
    a, c = (1 + 2 * k * math.cos(angle) + k * k for angle in (math.pi / 8, 3 * math.pi / 8))
    halves = [(2 * (k * k - 1) / a0, (2 + 2 * k * k - a0) / a0) for a0 in (a, c)]
    return np.array([k**4 / (a * c), *halves[0], *halves[1]])


@compiled()
def _behind(left: Array, right: Array, band: Array, state: Array, sums: Array) -> None:
    """Add the sums of squares of both channels and of their product, behind one low-pass, to *sums* (3,)."""
    gain, a1, a2, c1, c2 = band
    u1, u2, s1, s2, v1, v2, t1, t2 = state
    a, b, product = sums
    for i in range(len(left)):  # the newest feedback comes last: each sample waits for one product only
        u = (left[i] - a2 * u2) - a1 * u1
        v = (right[i] - a2 * v2) - a1 * v1
        s = (u - c2 * s2) - c1 * s1
        t = (v - c2 * t2) - c1 * t1
        u2, u1, s2, s1 = u1, u, s1, s
        v2, v1, t2, t1 = v1, v, t1, t
        a += s * s
        b += t * t
        product += s * t
    state[0], state[1], state[2], state[3] = u1, u2, s1, s2
    state[4], state[5], state[6], state[7] = v1, v2, t1, t2
    sums[0], sums[1], sums[2] = a, b, product


@compiled()
def low_sums(left: Array, right: Array, bands: Array, ends: Integers, states: Array, sums: Array) -> None:
    """As :func:`pair_sums`, of both channels behind each of the low-passes.

    Parameters
    ----------
    left, right : (frames,) behind the numerator
    bands : (bands, 5) from :func:`low_pass`
    ends : (steps,) from ``kweighting.step_ends``
    states : (bands, LOW_STATE) zeros at the start, kept between blocks
    sums : (bands, steps, SUMS), the result
    """
    for k in range(len(bands)):
        state, open_sums = states[k, :8], states[k, 8:]
        power = bands[k, 0] * bands[k, 0]
        at = 0
        for step in range(len(ends)):
            _behind(left[at : ends[step]], right[at : ends[step]], bands[k], state, open_sums)
            at = ends[step]
            energy, twice = power * (open_sums[0] + open_sums[1]), power * 2 * open_sums[2]
            sums[k, step, LEFT], sums[k, step, RIGHT] = power * open_sums[0], power * open_sums[1]
            sums[k, step, SUM], sums[k, step, DIFFERENCE] = energy + twice, energy - twice
            open_sums[:] = 0.0
            if abs(state[0]) + abs(state[2]) + abs(state[4]) + abs(state[6]) < STILL:
                state[:] = 0.0
        _behind(left[at:], right[at:], bands[k], state, open_sums)
