"""Two channels beside each other: sums of their squares, of their sum and of their difference, step by step."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import compiled

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

LEFT, RIGHT, SUM, DIFFERENCE = 0, 1, 2, 3
SUMS = 4


@compiled()
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


def thinning(rate_hz: int, least_hz: int) -> int:
    """The power of two by which *rate_hz* may be divided without going under *least_hz*."""
    factor = 1
    while rate_hz / (2 * factor) >= least_hz:
        factor *= 2
    return factor


@compiled()
def thin(x: Array, factor: int, state: Array, thinned: Array) -> int:
    """Keep every *factor*-th sample behind a triangle of twice that length; returns how many were written.

    The triangle's response is that of a box, squared: it has double zeros at the multiples of the new rate, which
    are the places that would fold onto the lowest frequencies.

    Parameters
    ----------
    x : (frames,)
    state : (4,) position in the box, rising and falling sum of the box so far, rising sum of the box before
    thinned : room for frames // factor + 1 values
    """
    position, rising, falling, before = int(state[0]), state[1], state[2], state[3]
    written = 0
    for value in x:
        share = (position + 0.5) / factor
        rising += value * share
        falling += value * (1.0 - share)
        position += 1
        if position == factor:
            thinned[written] = (before + falling) / factor
            written += 1
            before, rising, falling, position = rising, 0.0, 0.0, 0
    state[0], state[1], state[2], state[3] = position, rising, falling, before
    return written


def low_pass(frequency_hz: float, rate_hz: float) -> Array:
    """(2, 5): b0, b1, b2, a1, a2 of both halves of a fourth-order Butterworth low-pass (bilinear transform)."""
    k = math.tan(math.pi * frequency_hz / rate_hz)
    halves = []
    for q in (1 / (2 * math.cos(math.pi / 8)), 1 / (2 * math.cos(3 * math.pi / 8))):
        a0 = 1 + k / q + k * k
        halves.append([k * k / a0, 2 * k * k / a0, k * k / a0, 2 * (k * k - 1) / a0, (1 - k / q + k * k) / a0])
    return np.array(halves)


@compiled()
def filtered(x: Array, halves: Array, state: Array) -> None:
    """Filter *x* in place; *state* is (2, 2), zeros at the start, kept between blocks."""
    for half in range(2):
        b0, b1, b2, a1, a2 = halves[half]
        p, q = state[half]
        for i in range(len(x)):
            y = b0 * x[i] + p
            p = b1 * x[i] - a1 * y + q
            q = b2 * x[i] - a2 * y
            x[i] = y
        if abs(p) + abs(q) < 1e-30:  # ringing out into silence would crawl
            p = q = 0.0
        state[half, 0], state[half, 1] = p, q
