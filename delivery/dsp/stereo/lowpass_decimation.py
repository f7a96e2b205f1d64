"""The lows of two channels: decimated, and summed as pairs behind several low-passes at once."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import ANY_ORDER, compiled
from delivery.dsp.stereo.pairs import DIFFERENCE, LEFT, RIGHT, SUM

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

THINNING = 8
LOWEST_RATE_HZ = 44_100
"""From twice this rate on lows are halved once more, from four times twice more: high rates cost no more than low."""
HALVING_HISTORY, NUMERATOR_HISTORY = 3, 4
LANES = 8
"""Low-passes that are computed at once."""
COEFFICIENTS, ROWS = 5, 16
A1, A2, C1, C2 = LANES, 2 * LANES, 3 * LANES, 4 * LANES
U1, U2, S1, S2 = 5 * LANES, 6 * LANES, 7 * LANES, 8 * LANES
V1, V2, T1, T2 = 9 * LANES, 10 * LANES, 11 * LANES, 12 * LANES
LEFTS, RIGHTS, PRODUCTS = 13 * LANES, 14 * LANES, 15 * LANES
"""Rows behind the gain: coefficients; the last two of either half, left and right; sums of the step not finished."""
STILL = 1e-30
"""Outputs smaller than this are set to zero: a filter ringing out into silence is slow."""


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
    """How often the thinned-out rate is halved: until it is 2 to 5.5 kHz, which holds 300 Hz with room to spare."""
    return max(int(math.log2(rate_hz / LOWEST_RATE_HZ)), 0) + 1


@compiled()
def halve(x: Array, kept: Array) -> None:
    """Every second sample of *x* behind a binomial of unit gain, (2 n + HALVING_HISTORY,) to (n,).

    Its four zeros at half the rate keep down what would fold onto the lows: at 5.5 kHz, what comes to lie on 300 Hz is
    62 dB down, and at higher rates more.
    """
    count = len(kept)
    even, odd = np.empty(count + 2), np.empty(count + 1)
    for i in range(len(odd)):  # taken apart in a loop of its own, in pairs: any other way is not made of vectors
        even[i], odd[i] = x[2 * i], x[2 * i + 1]
    even[count + 1] = x[2 * count + 2]
    for i in range(count):
        kept[i] = ((even[i] + even[i + 2]) + 4 * (odd[i] + odd[i + 1]) + 6 * even[i + 1]) / 16


@compiled()
def numerator(x: Array, y: Array) -> None:
    """The numerator all the low-passes share: (n + NUMERATOR_HISTORY,) to (n,)."""
    for i in range(len(y)):
        y[i] = (x[i] + x[i + 4]) + 4 * (x[i + 1] + x[i + 3]) + 6 * x[i + 2]


@compiled()
def _lows(samples: Array, before: float, histories: Array, found: Array) -> float:
    last = len(histories) - 1
    count = len(samples) // THINNING
    led = np.empty(HALVING_HISTORY + count)
    before = thin(samples, before, led[HALVING_HISTORY:])
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
    return before


@compiled()
def lows(planar: Array, before: Array, histories: Array, found: Array) -> None:
    """Each channel decimated, halved and behind the shared numerator.

    Parameters
    ----------
    planar : (channels, THINNING * 2**halvings * n + some more, which are left)
    before : (channels,) kept between blocks for :func:`thin`; zeros at the start
    histories : (channels, halvings + 1, NUMERATOR_HISTORY) of each halving and of the numerator; as *before*
    found : (channels, n) the result
    """
    channels, count = found.shape
    frames = (THINNING * count) << (histories.shape[1] - 1)
    for c in range(channels):
        before[c] = _lows(planar[c, :frames], before[c], histories[c], found[c])


def low_pass(frequency_hz: float, rate_hz: float) -> Array:
    """(5,): gain, and a1, a2 of both halves of a fourth-order Butterworth low-pass, without its numerator."""
    k = math.tan(math.pi * frequency_hz / rate_hz)
    a, c = (1 + 2 * k * math.cos(angle) + k * k for angle in (math.pi / 8, 3 * math.pi / 8))
    halves = [(2 * (k * k - 1) / a0, (2 + 2 * k * k - a0) / a0) for a0 in (a, c)]
    return np.array([k**4 / (a * c), *halves[0], *halves[1]])


def low_passes(frequencies_hz: Sequence[float], rate_hz: float) -> Array:
    """(ROWS * LANES,) coefficients and state of up to LANES low-passes, for :func:`low_sums`; the state is zero.

    One flat row of memory, coefficients and state together, each row LANES apart: only so does the compiler see that
    the low-passes do not touch each other, and takes them all at once.
    """
    rows = np.zeros((ROWS, LANES))
    for lane, frequency_hz in enumerate(frequencies_hz):
        rows[:COEFFICIENTS, lane] = low_pass(frequency_hz, rate_hz)
    return rows.reshape(-1)


@compiled(inline=True)
def _next(x: float, a1: float, a2: float, last: float, before: float) -> float:
    return (x - a2 * before) - a1 * last  # the newest feedback comes last: each sample waits for one product only


@compiled()
def _one(x: float, y: float, lanes: int, m: Array) -> None:
    """One sample of both channels through all low-passes."""
    for k in range(lanes):
        a1, a2, c1, c2 = m[k + A1], m[k + A2], m[k + C1], m[k + C2]
        u, v = _next(x, a1, a2, m[k + U1], m[k + U2]), _next(y, a1, a2, m[k + V1], m[k + V2])
        s, t = _next(u, c1, c2, m[k + S1], m[k + S2]), _next(v, c1, c2, m[k + T1], m[k + T2])
        m[k + U2], m[k + S2], m[k + V2], m[k + T2] = m[k + U1], m[k + S1], m[k + V1], m[k + T1]
        m[k + U1], m[k + S1], m[k + V1], m[k + T1] = u, s, v, t
        m[k + LEFTS] += s * s
        m[k + RIGHTS] += t * t
        m[k + PRODUCTS] += s * t


@compiled(inline=True)
def _fours(
    w: float, x: float, y: float, z: float, a1: float, a2: float, m: Array, at: int
) -> tuple[float, float, float, float]:
    """Four samples through one half of a low-pass, whose last two outputs stand LANES apart from m[at] on."""
    last, before = m[at], m[at + LANES]
    first = _next(w, a1, a2, last, before)
    second = _next(x, a1, a2, first, last)
    third = _next(y, a1, a2, second, first)
    fourth = _next(z, a1, a2, third, second)
    m[at], m[at + LANES] = fourth, third
    return first, second, third, fourth


@compiled()
def _through(left: Array, right: Array, lanes: int, m: Array) -> None:
    """Both channels through all low-passes; four samples between a state's loading and its storing."""
    fours = len(left) // 4 * 4
    for i in range(0, fours, 4):
        x0, x1, x2, x3 = left[i], left[i + 1], left[i + 2], left[i + 3]
        y0, y1, y2, y3 = right[i], right[i + 1], right[i + 2], right[i + 3]
        for k in range(lanes):
            a1, a2, c1, c2 = m[k + A1], m[k + A2], m[k + C1], m[k + C2]
            u0, u1, u2, u3 = _fours(x0, x1, x2, x3, a1, a2, m, k + U1)
            s0, s1, s2, s3 = _fours(u0, u1, u2, u3, c1, c2, m, k + S1)
            v0, v1, v2, v3 = _fours(y0, y1, y2, y3, a1, a2, m, k + V1)
            t0, t1, t2, t3 = _fours(v0, v1, v2, v3, c1, c2, m, k + T1)
            m[k + LEFTS] += (s0 * s0 + s1 * s1) + (s2 * s2 + s3 * s3)
            m[k + RIGHTS] += (t0 * t0 + t1 * t1) + (t2 * t2 + t3 * t3)
            m[k + PRODUCTS] += (s0 * t0 + s1 * t1) + (s2 * t2 + s3 * t3)
    for i in range(fours, len(left)):
        _one(left[i], right[i], lanes, m)


@compiled()
def low_sums(left: Array, right: Array, ends: Integers, lanes: int, m: Array, sums: Array) -> None:
    """As :func:`pair_sums`, of both channels behind each of the low-passes.

    Parameters
    ----------
    left, right : (frames,) behind the numerator
    ends : (steps,) from ``kweighting.step_ends``
    lanes : LANES, as a number the compiler does not know: it makes vectors of a loop it cannot unroll
    m : from :func:`low_passes`, kept between blocks
    sums : (steps, low-passes, SUMS), the result
    """
    at = 0
    for step in range(len(ends)):
        _through(left[at : ends[step]], right[at : ends[step]], lanes, m)
        at = ends[step]
        for k in range(sums.shape[1]):
            power = m[k] * m[k]
            a, b, product = power * m[k + LEFTS], power * m[k + RIGHTS], power * m[k + PRODUCTS]
            sums[step, k, LEFT], sums[step, k, RIGHT] = a, b
            sums[step, k, SUM], sums[step, k, DIFFERENCE] = a + b + 2 * product, a + b - 2 * product
            if abs(m[k + U1]) + abs(m[k + S1]) + abs(m[k + V1]) + abs(m[k + T1]) < STILL:
                m[k + U1] = m[k + U2] = m[k + S1] = m[k + S2] = 0.0
                m[k + V1] = m[k + V2] = m[k + T1] = m[k + T2] = 0.0
        m[LEFTS:] = 0.0
    _through(left[at:], right[at:], lanes, m)
