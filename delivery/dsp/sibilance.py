"""The power of two bands of one signal, in steps: what hisses, and what it stands beside."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import compiled

Array = NDArray[np.float64]

SECTIONS = 5
"""High band: two halves of a fourth-order high-pass and a second-order low-pass. Middle band: one of each."""
STATE_SIZE = SECTIONS * 2 + 2
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
def band_energies(x: Array, ends: NDArray[np.int64], coefficients: Array, state: Array, energies: Array) -> None:
    """Energy of the high and of the middle band, for each step that ends in this block.

    Parameters
    ----------
    x : (frames,)
    ends : (steps,) from ``kweighting.step_ends``
    coefficients : (SECTIONS, 5) from :func:`sections`
    state : (STATE_SIZE,) zeros at the start, kept between blocks
    energies : (steps, 2), the result: high, middle
    """
    b = coefficients
    h1, h2, i1, i2, j1, j2, m1, m2, n1, n2, high, middle = state
    at = 0
    for step in range(len(ends) + 1):
        end = ends[step] if step < len(ends) else len(x)
        for t in range(at, end):  # transposed form: two memories for each section
            s = x[t]
            u = b[0, 0] * s + h1
            h1 = b[0, 1] * s - b[0, 3] * u + h2
            h2 = b[0, 2] * s - b[0, 4] * u
            v = b[1, 0] * u + i1
            i1 = b[1, 1] * u - b[1, 3] * v + i2
            i2 = b[1, 2] * u - b[1, 4] * v
            w = b[2, 0] * v + j1
            j1 = b[2, 1] * v - b[2, 3] * w + j2
            j2 = b[2, 2] * v - b[2, 4] * w
            p = b[3, 0] * s + m1
            m1 = b[3, 1] * s - b[3, 3] * p + m2
            m2 = b[3, 2] * s - b[3, 4] * p
            q = b[4, 0] * p + n1
            n1 = b[4, 1] * p - b[4, 3] * q + n2
            n2 = b[4, 2] * p - b[4, 4] * q
            high += w * w
            middle += q * q
        at = end
        if step < len(ends):
            energies[step, 0], energies[step, 1] = high, middle
            high = middle = 0.0
            if abs(h1) + abs(i1) + abs(j1) + abs(m1) + abs(n1) < STILL:
                h1 = h2 = i1 = i2 = j1 = j2 = m1 = m2 = n1 = n2 = 0.0
    state[:] = np.array((h1, h2, i1, i2, j1, j2, m1, m2, n1, n2, high, middle))
