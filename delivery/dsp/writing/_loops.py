"""Loops of ``dither``: add noise, feed the error back, round, clip. One channel at a time.

No sum may be fused or reordered: the result is delivered and must be the same on every machine. C types
are declared in ``_loops.pxd``.
"""

from __future__ import annotations

from typing import Any

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
    from numpy import rint

    from delivery.dsp.uncompiled import report

    report()

_UNIT = 2.0**-32
_LOW = 0xFFFFFFFF


def noise_of(draw: int, first: float, second: float) -> float:
    """Weighted sum of two uniform random numbers, one step wide and zero-mean, from the halves of a draw."""
    high = draw >> 32
    low = draw & _LOW
    return first * ((high + 0.5) * _UNIT) - second * ((low + 0.5) * _UNIT) - 0.5 * (first - second)


def round_flat(x: Any, draws: Any, first: float, second: float, bits: int, out: Any) -> None:
    """Round to *bits*, into *out* as left-justified int32.

    x (frames,) float64, full scale 1.0; draws (frames,) uint64; *first* and *second* are the weights of the two uniform
    numbers made from a draw; out (frames,) int32.
    """
    steps, unit = 2.0 ** (bits - 1), 1 << (32 - bits)
    with cython.nogil:
        for frame in range(len(x)):
            rounded = rint(x[frame] * steps + noise_of(draws[frame], first, second))
            whole = int(min(max(rounded, -steps), steps - 1.0))
            out[frame] = whole * unit


def round_shaped(x: Any, draws: Any, first: float, second: float, taps: Any, past: Any, bits: int, out: Any) -> None:
    """As :func:`round_flat`, with feedback of the error (noise shaping).

    taps (order,) c_k of NTF(z) = 1 - sum c_k z^-k; past (order,) float64, the last errors, newest first, kept for the
    next block. The error is taken before clipping: what a sample loses by clipping is not spread over later ones.
    """
    steps, unit = 2.0 ** (bits - 1), 1 << (32 - bits)
    order = len(taps)
    with cython.nogil:
        for frame in range(len(x)):
            ideal = x[frame] * steps
            for tap in range(order):
                ideal -= taps[tap] * past[tap]
            rounded = rint(ideal + noise_of(draws[frame], first, second))
            for tap in range(order - 1, 0, -1):
                past[tap] = past[tap - 1]
            past[0] = rounded - ideal
            whole = int(min(max(rounded, -steps), steps - 1.0))
            out[frame] = whole * unit
