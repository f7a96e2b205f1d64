"""The compiled loops under ``dither``: add noise, feed the error back, round, stop at the rails. One channel at a time.

No sum may be fused or reordered: what is rounded here ships, and must be the same words on every machine.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from delivery.dsp.compiled import compiled

_HIGH = 32
_LOW = 0xFFFFFFFF
_UNIT = 2.0**-32
_EXACT: set[str] = set()


@compiled(fast=_EXACT, inline=True)
def noise_of(draw: Any, first: float, second: float) -> float:
    """Two rectangular numbers of one step out of a draw's halves, weighed, without a mean."""
    high = (np.float64(np.int64(draw >> np.uint64(_HIGH))) + 0.5) * _UNIT
    low = (np.float64(np.int64(draw & np.uint64(_LOW))) + 0.5) * _UNIT
    return first * high - second * low - 0.5 * (first - second)


@compiled(fast=_EXACT)
def round_flat(x: Any, draws: Any, first: float, second: float, bits: int, out: Any) -> None:
    """Words of *bits* into *out*, left-justified int32.

    x (frames,) float64, full scale 1.0; draws (frames,) uint64; *first* and *second* weigh the two rectangular numbers
    made of a draw; out (frames,) int32.
    """
    steps = 2.0 ** (bits - 1)
    word = np.int64(1) << np.int64(32 - bits)
    for frame in range(len(x)):
        rounded = np.rint(x[frame] * steps + noise_of(draws[frame], first, second))
        out[frame] = np.int32(np.int64(min(max(rounded, -steps), steps - 1.0)) * word)


@compiled(fast=_EXACT)
def round_shaped(x: Any, draws: Any, first: float, second: float, taps: Any, past: Any, bits: int, out: Any) -> None:
    """The same with feedback of the error.

    taps (order,) c_k of NTF(z) = 1 - sum c_k z^-k; past (order,) float64, the last errors, newest first, kept for the
    next block. The error is taken before the rails: what a sample loses there is not spread over those that follow.
    """
    order = len(taps)
    steps = 2.0 ** (bits - 1)
    word = np.int64(1) << np.int64(32 - bits)
    for frame in range(len(x)):
        ideal = x[frame] * steps
        for tap in range(order):
            ideal -= taps[tap] * past[tap]
        rounded = np.rint(ideal + noise_of(draws[frame], first, second))
        for tap in range(order - 1, 0, -1):
            past[tap] = past[tap - 1]
        past[0] = rounded - ideal
        out[frame] = np.int32(np.int64(min(max(rounded, -steps), steps - 1.0)) * word)
