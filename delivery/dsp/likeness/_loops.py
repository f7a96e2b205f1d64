"""Loops that read a sound between its frames, and subtract one sound from another.

C types are declared in ``_loops.pxd``. For comparing, never for what ships.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.likeness.layout import BLOCK, TAPS

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
    from delivery.dsp.uncompiled import report

    report()

Array = NDArray[np.float64]
Singles = NDArray[np.float32]


def thinned(x: Array, begin: int, taps: Singles, every: int, out: Array) -> None:
    """Filter, and keep every *every*-th frame.

    out[j] is the sum of taps[i] * x[begin + j * every + i], in single precision: noise 130 dB below the sound.

    Parameters
    ----------
    taps : (TAPS,)
    every : 1, 2 or 4
    """
    frames = len(out)
    with cython.nogil:
        for block in range((frames + BLOCK - 1) // BLOCK):
            at = block * BLOCK
            _thinned(x, begin + at * every, taps, every, out, at, min(BLOCK, frames - at))


def _thinned(x: Array, begin: int, taps: Singles, every: int, out: Array, at: int, count: int) -> None:
    """Eight taps at a time over a whole block: neighbouring frames are summed side by side."""
    held = [0.0] * 320  # BLOCK + TAPS
    sums = [0.0] * 256  # BLOCK
    own = TAPS // every
    for phase in range(every):
        for k in range(count + own - 1):
            held[k] = x[begin + phase + k * every]
        for i in range(0, own, 8):
            a, b = taps[phase + i * every], taps[phase + (i + 1) * every]
            c, d = taps[phase + (i + 2) * every], taps[phase + (i + 3) * every]
            e, f = taps[phase + (i + 4) * every], taps[phase + (i + 5) * every]
            g, h = taps[phase + (i + 6) * every], taps[phase + (i + 7) * every]
            for k in range(count):
                one = (a * held[i + k] + b * held[i + k + 1]) + (c * held[i + k + 2] + d * held[i + k + 3])
                other = (e * held[i + k + 4] + f * held[i + k + 5]) + (g * held[i + k + 6] + h * held[i + k + 7])
                sums[k] += one + other
    for k in range(count):
        out[at + k] = sums[k]


def followed(planar: Array, start: float, step: float, table: Array, out: Array) -> None:
    """Read a sound along a clock that runs differently.

    out[c, j] is the sound at frame ``start + j * step``; all the frames that it takes must be there.

    Parameters
    ----------
    table : (fractions + 1, TAPS) taps for places from 0 to 1 frame behind a frame; between two rows they are mixed
    """
    rows = len(table) - 1
    with cython.nogil:
        for c in range(len(out)):
            for j in range(out.shape[1]):
                place = start + j * step
                whole = int(place)
                row = (place - whole) * rows
                first = int(row)
                if first >= rows:  # the fraction was rounded up to 1
                    first = rows - 1
                share = row - first
                begin = whole - TAPS // 2 + 1
                out[c, j] = (1 - share) * _product(planar[c], begin, table[first]) + share * _product(
                    planar[c], begin, table[first + 1]
                )


def _product(x: Array, at: int, taps: Array) -> float:
    lanes = [0.0] * 8
    for i in range(0, TAPS, 8):
        for k in range(8):
            lanes[k] += x[at + i + k] * taps[i + k]
    return ((lanes[0] + lanes[1]) + (lanes[2] + lanes[3])) + ((lanes[4] + lanes[5]) + (lanes[6] + lanes[7]))


def subtracted(mine: Array, theirs: Array, gains: Array, rest: Array) -> tuple[float, float]:
    """rest = mine - gains * theirs, channel by channel; the sums of squares of mine and of rest."""
    own = left = 0.0
    with cython.nogil:
        for c in range(len(rest)):
            gain = gains[c]
            for k in range(rest.shape[1]):
                rest[c, k] = mine[c, k] - gain * theirs[c, k]
            own += _square(mine[c])
            left += _square(rest[c])
    return own, left


def _square(x: Array) -> float:
    lanes = [0.0] * 8
    whole = len(x) // 8 * 8
    for i in range(0, whole, 8):
        for k in range(8):
            lanes[k] += x[i + k] * x[i + k]
    for i in range(whole, len(x)):
        lanes[0] += x[i] * x[i]
    return ((lanes[0] + lanes[1]) + (lanes[2] + lanes[3])) + ((lanes[4] + lanes[5]) + (lanes[6] + lanes[7]))
