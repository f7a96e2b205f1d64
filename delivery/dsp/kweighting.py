"""K-weighting at any rate, and the power it leaves in steps of 10 ms.

ITU-R BS.1770-5, Annex 1 gives the two filters at 48 kHz and asks for the same response at other rates. They are
re-derived here from the analogue prototypes that reproduce its coefficients to 14 decimals (bilinear transform).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import compiled

Array = NDArray[np.float64]

STEPS_PER_S = 100
STATE_SIZE = 5
"""Two delays of each filter, and the energy of the step that is not finished yet."""
STILL = 1e-30
"""Delays smaller than this are set to zero at the end of a step: a filter ringing out into silence is slow."""


def k_coefficients(rate_hz: int) -> Array:
    """b0, b1, b2, a1, a2 of the head shelf, then a1, a2 of the high-pass, whose numerator is 1, -2, 1 at any rate."""
    return np.array([*_shelf(rate_hz), *_high_pass(rate_hz)])


def _shelf(rate_hz: int) -> tuple[float, ...]:
    frequency_hz, gain_db, q = 1681.974450955533, 3.999843853973347, 0.7071752369554196
    k = math.tan(math.pi * frequency_hz / rate_hz)
    high = 10 ** (gain_db / 20)
    band = high**0.4996667741545416
    a0 = 1 + k / q + k * k
    numerator = (high + band * k / q + k * k, 2 * (k * k - high), high - band * k / q + k * k)
    return (*(b / a0 for b in numerator), 2 * (k * k - 1) / a0, (1 - k / q + k * k) / a0)


def _high_pass(rate_hz: int) -> tuple[float, ...]:
    frequency_hz, q = 38.13547087602444, 0.5003270373238773
    k = math.tan(math.pi * frequency_hz / rate_hz)
    a0 = 1 + k / q + k * k
    return (2 * (k * k - 1) / a0, (1 - k / q + k * k) / a0)


def channel_weights(channels: int) -> tuple[float, ...]:
    """BS.1770-5, Table 3, for the usual order of 1, 2, 5 and 6 channels (L R C LFE Ls Rs); 1.0 for all others."""
    layouts = {5: (1.0, 1.0, 1.0, 1.41, 1.41), 6: (1.0, 1.0, 1.0, 0.0, 1.41, 1.41)}
    return layouts.get(channels, (1.0,) * channels)


def step_ends(first: int, frames: int, rate_hz: int, steps_per_s: int = STEPS_PER_S) -> NDArray[np.int64]:
    """Where steps end in a block of *frames* that begins at frame *first*: counted from the block's start, 1..frames.

    Step k ends at frame round(k * rate / steps_per_s); steps of odd rates differ by one frame.
    """
    begin = _steps_ended(first, rate_hz, steps_per_s) + 1
    end = _steps_ended(first + frames, rate_hz, steps_per_s)
    k = np.arange(begin, end + 1, dtype=np.int64)
    return (k * rate_hz + steps_per_s // 2) // steps_per_s - first


def _steps_ended(frame: int, rate_hz: int, steps_per_s: int) -> int:
    """How many steps end at or before *frame*."""
    k = frame * steps_per_s // rate_hz + 1
    while (k * rate_hz + steps_per_s // 2) // steps_per_s > frame:
        k -= 1
    return k


@compiled()
def weighted_energy(
    planar: Array, ends: NDArray[np.int64], coefficients: Array, weights: Array, state: Array, energy: Array
) -> None:
    """Add G * y * y of every channel into *energy*, one entry for each step that ends in this block.

    Parameters
    ----------
    planar : (channels, frames) float64
    ends : (steps,) int64, from :func:`step_ends`
    coefficients : (7,) from :func:`k_coefficients`
    weights : (channels,) float64
    state : (channels, STATE_SIZE) float64, zeros at the start, kept between blocks
    energy : (steps,) float64, zeros; the result
    """
    channels, frames = planar.shape
    b0, b1, b2, a1, a2, c1, c2 = coefficients
    for left in range(0, channels, 2):
        right = min(left + 1, channels - 1)  # two at a time hide each other's waiting; an odd last one is done twice
        x, y = planar[left], planar[right]
        p1, p2, p3, p4, p5 = state[left]
        q1, q2, q3, q4, q5 = state[right]
        at = 0
        for step in range(len(ends) + 1):
            end = ends[step] if step < len(ends) else frames
            for i in range(at, end):
                u = b0 * x[i] + p1
                v = b0 * y[i] + q1
                p1 = b1 * x[i] - a1 * u + p2
                q1 = b1 * y[i] - a1 * v + q2
                p2 = b2 * x[i] - a2 * u
                q2 = b2 * y[i] - a2 * v
                s = u + p3
                t = v + q3
                p3 = p4 - 2.0 * u - c1 * s
                q3 = q4 - 2.0 * v - c1 * t
                p4 = u - c2 * s
                q4 = v - c2 * t
                p5 += s * s
                q5 += t * t
            at = end
            if step < len(ends):
                energy[step] += weights[left] * p5
                if right != left:
                    energy[step] += weights[right] * q5
                p5 = q5 = 0.0
                if abs(p1) + abs(p2) + abs(p3) + abs(p4) < STILL:
                    p1 = p2 = p3 = p4 = 0.0
                if abs(q1) + abs(q2) + abs(q3) + abs(q4) < STILL:
                    q1 = q2 = q3 = q4 = 0.0
        state[left] = p1, p2, p3, p4, p5
        if right != left:
            state[right] = q1, q2, q3, q4, q5
