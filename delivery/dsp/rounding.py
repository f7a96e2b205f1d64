"""The compiled loop under ``dither``: add noise, feed the error back, round, stop at the rails.

Import it only where it is needed: it brings the compiler with it.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

_HIGH = np.uint64(32)
_LOW = np.uint64(0xFFFFFFFF)
_UNIT = 2.0**-32


@njit(cache=True, nogil=True)
def round_words(
    x: Any, draws: Any, first: float, second: float, taps: Any, history: Any, bits: int, out: Any
) -> None:  # pragma: no cover - compiled
    """Words of *bits* into *out*, left-justified int32.

    x (channels, frames) float64, full scale 1.0; draws (channels, frames) uint64; *first* and *second* weigh the two
    rectangular numbers made of a draw; taps (order) c_k of NTF(z) = 1 - sum c_k z^-k; history (channels, order)
    float64, the last errors, newest first, kept for the next block; out (frames, channels) int32, as files want it.

    The error is taken before the rails: what a sample loses there is not spread over those that follow.
    """
    channels, frames = x.shape
    order = len(taps)
    steps = 2.0 ** (bits - 1)
    word = np.int64(1) << np.int64(32 - bits)
    centre = 0.5 * (first - second)
    for channel in range(channels):
        past = history[channel]
        for frame in range(frames):
            draw = draws[channel, frame]
            high = (np.float64(draw >> _HIGH) + 0.5) * _UNIT
            low = (np.float64(draw & _LOW) + 0.5) * _UNIT
            ideal = x[channel, frame] * steps
            for tap in range(order):
                ideal -= taps[tap] * past[tap]
            rounded = np.rint(ideal + (first * high - second * low - centre))
            for tap in range(order - 1, 0, -1):
                past[tap] = past[tap - 1]
            if order:
                past[0] = rounded - ideal
            out[frame, channel] = np.int32(np.int64(min(max(rounded, -steps), steps - 1.0)) * word)
