"""The two filters of K-weighting at any rate, with the response of the recommendation's own coefficients.

ITU-R BS.1770-5, Annex 1 prints coefficients for 48 kHz and requires the same response at other rates. The usual way
there, prototypes carried over by the bilinear transform, leaves 0.03 dB between 44.1 and 192 kHz: the numerator 1, -2,
1 of the high-pass has another gain at each rate. Here the high-pass is designed that way, and the shelf is fitted to
the remainder: the power of the 48 kHz pair over the power of this high-pass.

Largest deviation from the 48 kHz response between 10 Hz and 20 kHz (or half the rate), checked by a test: 0.0001 dB at
44.1, 88.2, 96, 176.4, 192, 352.8 and 384 kHz, 0.001 dB from 22.05 kHz on, 0.003 dB at 16 kHz, 0.01 dB at 11.025 kHz,
0.03 dB at 8 kHz.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.loudness.layout import COLUMNS, DIFFERENCES, OUTPUTS

Array = NDArray[np.float64]

REFERENCE_HZ = 48_000
REFERENCE_SHELF = (1.53512485958697, -2.69169618940638, 1.19839281085285, -1.69065929318241, 0.73248077421585)
REFERENCE_HIGH_PASS = (-1.99004745483398, 0.99007225036621)
"""BS.1770-5, Annex 1, Tables 1 and 2."""

LOWEST_HZ, HIGHEST_HZ = 10.0, 20_000.0
HIGHEST_SHARE = 0.4999
"""Share of the rate: the fit may go up to half of it, where the filter's own response ends."""
PLACES = 200
ROUNDS = 6
"""The weights converge after three or four."""


def k_coefficients(rate_hz: int) -> Array:
    """b0, b1, b2, a1, a2 of the head shelf, then a1, a2 of the high-pass, whose numerator is 1, -2, 1 at any rate.

    Parameters
    ----------
    rate_hz : 8 kHz or more; below that, the shelf no longer fits under half the rate
    """
    if rate_hz == REFERENCE_HZ:
        return np.array([*REFERENCE_SHELF, *REFERENCE_HIGH_PASS])
    high_pass = _high_pass(rate_hz)
    places_hz = np.linspace(LOWEST_HZ, min(HIGHEST_HZ, HIGHEST_SHARE * rate_hz), PLACES)
    x, reference = _sine_squared(places_hz, rate_hz), _sine_squared(places_hz, REFERENCE_HZ)
    wanted = _power(REFERENCE_SHELF[:3], reference) / _power((1, *REFERENCE_SHELF[3:]), reference)
    wanted *= _power((1, -2, 1), reference) / _power((1, *REFERENCE_HIGH_PASS), reference)
    wanted *= _power((1, *high_pass), x) / _power((1, -2, 1), x)
    return np.array([*_fitted(x, wanted), *high_pass])


FRACTION_BITS = 160
"""Of integers that are exact for every coefficient: sums that nearly cancel keep all their digits."""


def unfolded(coefficients: Array) -> Array:
    """(COLUMNS, TOGETHER): what each number known adds to the next TOGETHER outputs, so that none waits for another.

    Known are the second differences of the sound (two earlier ones first), then the last output and the last three
    differences of outputs. With these, small errors stay small, near poles that almost reach 1; differences of them in
    turn would gain nothing, and each waits for the one before.
    """
    b0, b1, b2, a1, a2, c1, c2 = (int(value * 2.0**60) << (FRACTION_BITS - 60) for value in coefficients.tolist())
    feedback = (a1 + c1, a2 + _times(a1, c1) + c2, _times(a2, c1) + _times(a1, c2), _times(a2, c2))
    one = 1 << FRACTION_BITS
    columns = []
    for known in range(COLUMNS):
        sound = [one * (place == known) for place in range(DIFFERENCES)]
        order = known - DIFFERENCES
        outputs = [one if order == 0 else -one * (0 < order <= back) for back in reversed(range(OUTPUTS))]
        for place in range(2, DIFFERENCES):
            driven = _times(b0, sound[place]) + _times(b1, sound[place - 1]) + _times(b2, sound[place - 2])
            outputs.append(driven - sum(_times(feedback[back], outputs[-1 - back]) for back in range(OUTPUTS)))
        columns.append([output / one for output in outputs[OUTPUTS:]])
    return np.array(columns)


def _times(a: int, b: int) -> int:
    return (a * b) >> FRACTION_BITS


def _high_pass(rate_hz: int) -> tuple[float, float]:
    """By the bilinear transform, from the prototype that gives Table 2 to 14 decimals."""
    frequency_hz, q = 38.13547087602444, 0.5003270373238773
    k = math.tan(math.pi * frequency_hz / rate_hz)
    a0 = 1 + k / q + k * k
    return (2 * (k * k - 1) / a0, (1 - k / q + k * k) / a0)


def _sine_squared(frequency_hz: Array, rate_hz: int) -> Array:
    """sin² of half the angle: in it the power of three coefficients is a polynomial of second degree."""
    return np.asarray(np.sin(np.pi * frequency_hz / rate_hz) ** 2)


def _power(row: tuple[float, ...], x: Array) -> Array:
    """|b0 + b1 z⁻¹ + b2 z⁻²|² where sin² of half the angle is *x*."""
    b0, b1, b2 = row
    return np.asarray((b0 + b1 + b2) ** 2 - 4 * x * (b1 * (b0 + b2) + 4 * b0 * b2) + 16 * b0 * b2 * x * x)


def _fitted(x: Array, wanted: Array) -> tuple[float, ...]:
    """b0, b1, b2, a1, a2 whose power is nearest to *wanted*, in relative terms.

    A quotient of polynomials becomes a linear problem by multiplying with its denominator; dividing by the denominator
    of the previous iteration removes that weight again (Sanathanan and Koerner, 1963).
    """
    scale = x[-1]
    y = x / scale
    columns = np.stack([np.ones_like(y), y, y * y, -wanted * y, -wanted * y * y], axis=1)
    weight = 1 / wanted
    for _ in range(ROUNDS):
        p0, p1, p2, q1, q2 = np.linalg.lstsq(columns * weight[:, None], wanted * weight, rcond=None)[0]
        weight = 1 / (wanted * (1 + q1 * y + q2 * y * y))
    b = _row(p0, p1 / scale, p2 / scale**2)
    a = _row(1.0, q1 / scale, q2 / scale**2)
    return (*(value / a[0] for value in b), a[1] / a[0], a[2] / a[0])


def _row(p0: float, p1: float, p2: float) -> tuple[float, float, float]:
    """The three coefficients with power p0 + p1 x + p2 x² whose zeros lie inside the unit circle."""
    at_zero, at_half = math.sqrt(p0), math.sqrt(p0 + p1 + p2)
    mean = (at_zero + at_half) / 2
    first = (mean + math.sqrt(mean * mean - p2 / 4)) / 2
    return first, (at_zero - at_half) / 2, mean - first
