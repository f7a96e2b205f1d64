"""Loops over every sample that find traces of earlier processing: used bits, common steps, zeroed coefficients.

C types are declared in ``_loops.pxd``.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.history.layout import (
    BARE,
    FIRST_LINE,
    FRAME,
    GROUP,
    LAST_LINE,
    NEARLY,
    PIECE,
    QUIET_PIECE,
    QUIET_STEPS,
    REACH,
    SOUNDS,
    SPAN,
    STRIDE,
    TILE,
)

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
    from numpy import cos, rint, sin

    from delivery.dsp.uncompiled import report

    report()

Array = NDArray[np.float64]
Counts = NDArray[np.float32]
Integers = NDArray[np.int64]

STRETCH = 1024
CHUNK = 64
PI = float(np.pi)
SCALE = 2.0**31
INFINITE = float("inf")
MOST_ALONG = NEARLY / (1 - NEARLY * NEARLY) ** 0.5
"""Part along the axis over the part across it, where the first is NEARLY of the magnitude."""


def used_bits(planar: Array, least: int, enough: int) -> int:
    """Bits from the top to the lowest one set in any sample, at least *least*; 0 for silence.

    Parameters
    ----------
    planar : (channels, frames) float64 holding multiples of 2**-31
    enough : the search ends once so many bits are found
    """
    with cython.nogil:
        used = least
        for c in range(len(planar)):
            used = _used_bits(planar[c], used, enough)
    return used


def _used_bits(row: Array, used: int, enough: int) -> int:
    start = 0
    while start < len(row) and used < enough:
        end = min(start + STRETCH, len(row))
        joined = 0
        for i in range(start, end):
            whole = int(row[i] * SCALE)
            joined |= whole
        used = max(used, _bits_of(joined))
        start = end
    return used


def _bits_of(joined: int) -> int:
    """Number of the 32 bits from the top to the lowest one that is set; 0 if none is."""
    if joined == 0:
        return 0
    zeros = 0
    while (joined >> zeros) & 1 == 0:
        zeros += 1
    return 32 - zeros


def whole_bits(planar: Array, least: int) -> int:
    """Bits that the floats need as integers, at least *least*; -1 if one is no 32-bit integer or exceeds full scale.

    The search ends with the first stretch that contains such a sample.

    Parameters
    ----------
    planar : (channels, frames) float64, full scale 1.0
    """
    with cython.nogil:
        used = least
        for c in range(len(planar)):
            used = _whole_bits(planar[c], used)
            if used < 0:
                break
    return used


def _whole_bits(row: Array, used: int) -> int:
    start = 0
    while start < len(row):
        end = min(start + STRETCH, len(row))
        joined = inexact = 0
        for i in range(start, end):
            scaled = row[i] * SCALE
            if not -SCALE <= scaled < SCALE:
                return -1
            whole = int(scaled)
            inexact |= whole != scaled
            joined |= whole
        if inexact != 0:
            return -1
        used = max(used, _bits_of(joined))
        start = end
    return used


def count_small(samples: Array, step: float, most: int, histogram: Integers) -> int:
    """Count samples within REACH steps, zeros excluded, until there are *most*; returns the number counted.

    Parameters
    ----------
    samples : (frames,)
    histogram : (2 * REACH + 1,), added to
    """
    with cython.nogil:
        return _count_small(samples, step, most, histogram)


def _count_small(samples: Array, step: float, most: int, histogram: Integers) -> int:
    limit = (REACH + 0.5) * step
    counted = start = 0
    while start < len(samples) and counted < most:
        end = min(start + CHUNK, len(samples))
        near = 0
        for i in range(start, end):  # comparisons, since counting the values is not vectorised
            near += abs(samples[i]) < limit
        if near != 0:
            for i in range(start, end):
                if abs(samples[i]) < limit:
                    place = int(rint(samples[i] / step))
                    if place != 0 and -REACH <= place <= REACH and counted < most:
                        histogram[place + REACH] += 1
                        counted += 1
        start = end
    return counted


def quiet_pieces(samples: Array, step: float, found: Integers) -> None:
    """Count pieces of QUIET_PIECE samples: quiet, quiet without dither, and quiet on finer steps than *step*.

    Parameters
    ----------
    samples : (pieces * QUIET_PIECE,)
    found : (3,) quiet, undithered, finer; added to
    """
    with cython.nogil:
        for k in range(len(samples) // QUIET_PIECE):
            _quiet_piece(samples, k * QUIET_PIECE, step, found)


def _quiet_piece(samples: Array, start: int, step: float, found: Integers) -> None:
    limit = QUIET_STEPS * step
    for n in range(0, QUIET_PIECE, 8):
        if abs(samples[start + n]) > limit:
            return
    low = high = samples[start]
    bends, finer = 0.0, 0
    for n in range(QUIET_PIECE):
        value = samples[start + n]
        low, high = min(low, value), max(high, value)
        scaled = value / step
        finer |= scaled != rint(scaled)
        if 0 < n < QUIET_PIECE - 1:
            bend = (samples[start + n - 1] - 2.0 * value + samples[start + n + 1]) / step
            bends += bend * bend
    if max(high, -low) > limit or low == high:
        return
    found[0] += 1
    found[1] += bends / (QUIET_PIECE - 2) < BARE
    found[2] += finer


def mdct_zeros(x: Array, sums: Array, first: int, turns: Array, terms: Array, counts: Counts) -> None:
    """Count nearly zero coefficients, of GROUP from *first* on, at every place where a frame could begin.

    With a window that is a sum of few sines a coefficient is a sum of few Fourier sums over a rectangular stretch;
    these are updated from one place to the next in one step (sliding DFT), those of SOUNDS sounds side by side.

    Parameters
    ----------
    x : (places + 2 * FRAME, SOUNDS)
    sums : (2, lines, SOUNDS) of the Fourier sums at the first place: re + im, im - re; changed
    turns : (4, lines) from ``codec_traces.turns``
    terms : (windows, TERMS - 1) from ``codec_traces.window_terms``
    counts : (windows, places * SOUNDS), added to, the sounds of each place side by side; fills whole tiles
    """
    tiles = np.empty((2, turns.shape[1], TILE), np.float32)
    with cython.nogil:
        for tile in range(counts.shape[1] // TILE):
            _slide(x, tile * TILE // SOUNDS, turns, sums, tiles)
            _count_zeros(terms, first, tiles, counts, tile * TILE)


def _slide(x: Array, start: int, turns: Array, state: Array, tiles: Counts) -> None:
    """Fourier sums at the successive places of a tile; local arrays, because rows of one array could overlap."""
    change, one, other = [0.0] * 8, [0.0] * 8, [0.0] * 8
    for t in range(TILE // SOUNDS):
        at = SOUNDS * t
        for s in range(8):
            change[s] = x[start + t + 2 * FRAME, s] - x[start + t, s]
        for j in range(turns.shape[1]):
            turn_re, turn_im, half_one, half_other = turns[0, j], turns[1, j], turns[2, j], turns[3, j]
            for s in range(8):
                tiles[0, j, at + s] = state[0, j, s]
            for s in range(8):
                tiles[1, j, at + s] = state[1, j, s]
            for s in range(8):
                one[s] = state[0, j, s] + change[s] * half_one
            for s in range(8):
                other[s] = state[1, j, s] + change[s] * half_other
            for s in range(8):
                state[0, j, s] = one[s] * turn_re - other[s] * turn_im
            for s in range(8):
                state[1, j, s] = one[s] * turn_im + other[s] * turn_re


def _count_zeros(terms: Array, first: int, tiles: Counts, counts: Counts, start: int) -> None:
    """Coefficients at the places of a tile, for every window; the loops access nothing else, so that they are vectors.

    The direction of a coefficient is an odd multiple of 45 degrees: along it lies re + im of the sums or im - re, in
    turns, and across it the other.
    """
    limit = MOST_ALONG
    along1, along2, along3, across1, across2, across3 = (
        [0.0] * 64,
        [0.0] * 64,
        [0.0] * 64,
        [0.0] * 64,
        [0.0] * 64,
        [0.0] * 64,
    )
    near = [0.0] * 64
    for k in range(GROUP):
        row = (first + k) % 2
        for t in range(64):
            along1[t], across1[t] = (
                tiles[row, k + 3, t] - tiles[row, k + 2, t],
                tiles[1 - row, k + 3, t] - tiles[1 - row, k + 2, t],
            )
            along2[t], across2[t] = (
                tiles[row, k + 4, t] - tiles[row, k + 1, t],
                tiles[1 - row, k + 4, t] - tiles[1 - row, k + 1, t],
            )
            along3[t], across3[t] = (
                tiles[row, k + 5, t] - tiles[row, k, t],
                tiles[1 - row, k + 5, t] - tiles[1 - row, k, t],
            )
        for w in range(len(terms)):
            b, c = terms[w, 0], terms[w, 1]
            if b == 0.0:
                for t in range(64):
                    near[t] = 1.0 if abs(along1[t]) < limit * abs(across1[t]) else 0.0
            else:
                for t in range(64):
                    along = along1[t] + b * along2[t] + c * along3[t]
                    across = across1[t] + b * across2[t] + c * across3[t]
                    near[t] = 1.0 if abs(along) < limit * abs(across) else 0.0
            for t in range(64):
                counts[w, start + t] += near[t]


def hybrid_zeros(subband: Array, counts: Counts) -> None:
    """As :func:`mdct_zeros`, for the middle lines of one MP3 subband, given at every sample.

    Parameters
    ----------
    subband : (places + STRIDE * SPAN,) at least
    counts : (places,), added to; places are a multiple of STRIDE
    """
    lines = LAST_LINE - FIRST_LINE + 1
    sums, turns = np.zeros((2, lines, STRIDE)), np.empty((4, lines))
    with cython.nogil:
        _hybrid_zeros(subband, counts, sums, turns)


def _hybrid_zeros(subband: Array, counts: Counts, sums: Array, turns: Array) -> None:
    lines = turns.shape[1]
    for j in range(lines):
        angle = 2.0 * PI * (FIRST_LINE + j) / SPAN
        turns[0, j], turns[1, j] = cos(angle), -sin(angle)
        turns[2, j], turns[3, j] = cos(angle / 2.0), sin(angle / 2.0)
        for n in range(SPAN):
            wave_re, wave_im = cos(angle * (n + 0.5)), sin(angle * (n + 0.5))
            for p in range(STRIDE):
                sums[0, j, p] += subband[STRIDE * n + p] * wave_re
                sums[1, j, p] += subband[STRIDE * n + p] * wave_im
    for block in range(len(counts) // STRIDE):
        start = block * STRIDE
        for k in range(lines - 1):
            phase = PI * (2 * (FIRST_LINE + k) + 1) / 4.0
            _count_hybrid_zeros(sums, k, sin(phase), cos(phase), counts[start : start + STRIDE])
        for j in range(lines):
            _slide_hybrid(subband, start, sums, j, turns)


def _count_hybrid_zeros(sums: Array, k: int, along_re: float, along_im: float, row: Counts) -> None:
    limit = NEARLY * NEARLY
    near = [0.0] * 32  # STRIDE of them
    for p in range(32):
        z_re, z_im = sums[0, k + 1, p] - sums[0, k, p], sums[1, k + 1, p] - sums[1, k, p]
        real = along_re * z_re + along_im * z_im
        near[p] = 1.0 if real * real < limit * (z_re * z_re + z_im * z_im) else 0.0
    for p in range(32):
        row[p] += near[p]


def _slide_hybrid(subband: Array, start: int, sums: Array, j: int, turns: Array) -> None:
    turn_re, turn_im, half_re, half_im = turns[0, j], turns[1, j], turns[2, j], turns[3, j]
    for p in range(STRIDE):
        change = subband[start + STRIDE * SPAN + p] - subband[start + p]
        new_re, new_im = sums[0, j, p] + change * half_re, sums[1, j, p] + change * half_im
        sums[0, j, p] = new_re * turn_re - new_im * turn_im
        sums[1, j, p] = new_re * turn_im + new_im * turn_re


def steady_treble(x: Array) -> float:
    """Least mean square of the second difference over every second piece of *x*: a measure of sustained treble."""
    with cython.nogil:
        return _steady_treble(x)


def _steady_treble(x: Array) -> float:
    least, start = INFINITE, 0
    while start < len(x) - PIECE + 1:
        least = min(least, _bends(x, start + 1, start + PIECE - 1) / (PIECE - 2))
        start += 2 * PIECE
    return least


def _bends(x: Array, begin: int, end: int) -> float:
    lanes = [0.0] * 8
    whole = (end - begin) // 8 * 8
    for i in range(begin, begin + whole, 8):
        for k in range(8):
            bend = x[i + k - 1] - 2.0 * x[i + k] + x[i + k + 1]
            lanes[k] += bend * bend
    for i in range(begin + whole, end):
        bend = x[i - 1] - 2.0 * x[i] + x[i + 1]
        lanes[0] += bend * bend
    return ((lanes[0] + lanes[1]) + (lanes[2] + lanes[3])) + ((lanes[4] + lanes[5]) + (lanes[6] + lanes[7]))
