"""The power of two bands of one signal, in steps: what hisses, and what it stands beside."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import compiled

Array = NDArray[np.float64]

SECTIONS = 5
"""High band: two halves of a fourth-order high-pass and a second-order low-pass. Middle band: one of each."""
STATE_SIZE = 2 + SECTIONS * 2 + 2
"""The last two samples, the last two of each section, and the energies of the step that is not finished yet."""
STILL = 1e-30


def sections(rate_hz: int, middle_hz: tuple[float, float], high_hz: tuple[float, float]) -> Array:
    """(SECTIONS, 5): b0, b1, b2, a1, a2 of Butterworth sections (bilinear transform)."""
    halves = (1 / (2 * math.cos(math.pi / 8)), 1 / (2 * math.cos(3 * math.pi / 8)))
    return np.array(
        [
            *(_section(high_hz[0], rate_hz, q, low_pass=False) for q in halves),
            _section(high_hz[1], rate_hz, math.sqrt(0.5), low_pass=True),
            _section(middle_hz[0], rate_hz, math.sqrt(0.5), low_pass=False),
            _section(middle_hz[1], rate_hz, math.sqrt(0.5), low_pass=True),
        ]
    )


def _section(frequency_hz: float, rate_hz: int, q: float, *, low_pass: bool) -> list[float]:
    k = math.tan(math.pi * frequency_hz / rate_hz)
    a0 = 1 + k / q + k * k
    numerator = (k * k, 2 * k * k, k * k) if low_pass else (1.0, -2.0, 1.0)
    return [*(b / a0 for b in numerator), 2 * (k * k - 1) / a0, (1 - k / q + k * k) / a0]


@compiled()
def _mean(planar: Array, mean: Array) -> None:
    channels = len(planar)
    for c in range(channels):
        row = planar[c]
        for t in range(len(mean)):
            mean[t] = row[t] / channels if c == 0 else mean[t] + row[t] / channels


@compiled()
def band_energies(planar: Array, ends: NDArray[np.int64], coefficients: Array, state: Array, energies: Array) -> None:
    """Energy of the high and of the middle band of the channels' mean, for each step that ends in this block.

    Parameters
    ----------
    planar : (channels, frames)
    ends : (steps,) from ``kweighting.step_ends``
    coefficients : (SECTIONS, 5) from :func:`sections`
    state : (STATE_SIZE,) zeros at the start, kept between blocks
    energies : (steps, 2), the result: high, middle
    """
    x = np.empty(planar.shape[1])
    _mean(planar, x)
    # Every numerator is its first number times 1, +-2, 1: the gains are applied to the energies, once for each step.
    gains = coefficients[:, 0]
    high_gain, middle_gain = (gains[0] * gains[1] * gains[2]) ** 2, (gains[3] * gains[4]) ** 2
    (_, _, _, c1, c2), (_, _, _, d1, d2), (_, _, _, e1, e2), (_, _, _, f1, f2), (_, _, _, g1, g2) = coefficients
    s1, s2, u1, u2, v1, v2, w1, w2, p1, p2, q1, q2, high, middle = state
    at = 0
    for step in range(len(ends) + 1):
        end = ends[step] if step < len(ends) else len(x)
        for t in range(at, end):  # the newest feedback comes last: each sample waits for one product only
            s = x[t]
            rise = s - 2.0 * s1 + s2
            u = (rise - c2 * u2) - c1 * u1
            v = (u - 2.0 * u1 + u2 - d2 * v2) - d1 * v1
            w = (v + 2.0 * v1 + v2 - e2 * w2) - e1 * w1
            p = (rise - f2 * p2) - f1 * p1
            q = (p + 2.0 * p1 + p2 - g2 * q2) - g1 * q1
            s2, s1, u2, u1, v2, v1, w2, w1 = s1, s, u1, u, v1, v, w1, w
            p2, p1, q2, q1 = p1, p, q1, q
            high += w * w
            middle += q * q
        at = end
        if step < len(ends):
            energies[step, 0], energies[step, 1] = high_gain * high, middle_gain * middle
            high = middle = 0.0
            if abs(u1) + abs(v1) + abs(w1) + abs(p1) + abs(q1) < STILL:
                u1 = u2 = v1 = v2 = w1 = w2 = p1 = p2 = q1 = q2 = 0.0
    state[:] = np.array((s1, s2, u1, u2, v1, v2, w1, w2, p1, p2, q1, q2, high, middle))
