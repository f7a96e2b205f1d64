"""Power spectra of many short windows at a time: the same step of the transform on neighbouring windows side by side.

numpy transforms one window after the other and takes five times as long. Two windows share a complex transform, one as
its real and one as its imaginary part; steps are Stockham's, of radix 4, which leave the lines in order: Van Loan,
"Computational Frameworks for the Fast Fourier Transform" (1992), 1.7. C types are declared in ``_short_powers.pxd``.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.spectrum.layout import SHORT_LANES, SHORT_SIZE

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
    from delivery.dsp.uncompiled import report

    report()

Array = NDArray[np.float64]
Singles = NDArray[np.float32]


def mixed(first: Array, second: Array, weight: float, every: int, out: Singles) -> None:
    """The first and *weight* times the second, the mean of *every* frames for each of *out*."""
    scale = 1.0 / every
    with cython.nogil:
        if every == 2:
            for k in range(len(out)):
                total = (first[2 * k] + first[2 * k + 1]) + weight * (second[2 * k] + second[2 * k + 1])
                out[k] = 0.5 * total
        else:
            for k in range(len(out)):
                total = 0.0
                for i in range(every):
                    total += first[k * every + i] + weight * second[k * every + i]
                out[k] = scale * total


def short_powers(sound: Singles, hop: int, window: Singles, turns: Singles, out: Singles) -> None:
    """Four times the squared magnitude of each line of each window.

    Parameters
    ----------
    sound : (frames,); window n takes it from frame n * hop on
    window : (SHORT_SIZE,)
    turns : (2, SHORT_SIZE) cosines and sines of one turn
    out : (groups, SHORT_SIZE / 2 + 1, 2 * SHORT_LANES), the windows of each group side by side; those that *sound* does
        not hold as a whole are nearly 0
    """
    room = np.empty((4, SHORT_SIZE * SHORT_LANES), np.float32)
    with cython.nogil:
        for group in range(len(out)):
            at = 2 * group * SHORT_LANES * hop
            _filled(sound, at, hop, window, room[0])
            _filled(sound, at + SHORT_LANES * hop, hop, window, room[1])
            _transformed(room, turns)
            _squared(room[2], room[3], out[group])


def pair_powers(first: Singles, second: Singles, hop: int, window: Singles, turns: Singles, out: Singles) -> None:
    """Twice the squared magnitude of each line of each window, of two channels added up, which cost as much as one.

    Parameters
    ----------
    first, second : (frames,); window n takes them from frame n * hop on
    window, turns : as for `short_powers`
    out : (groups, SHORT_SIZE / 2 + 1, SHORT_LANES), the windows of each group side by side
    """
    room = np.empty((4, SHORT_SIZE * SHORT_LANES), np.float32)
    with cython.nogil:
        for group in range(len(out)):
            at = group * SHORT_LANES * hop
            _filled(first, at, hop, window, room[0])
            _filled(second, at, hop, window, room[1])
            _transformed(room, turns)
            _added(room[2], room[3], out[group])


def _filled(sound: Singles, at: int, hop: int, window: Singles, lanes: Singles) -> None:
    """Windows side by side, those that *sound* does not hold as a whole as zeros."""
    whole = 0
    while whole < SHORT_LANES and at + whole * hop + SHORT_SIZE <= len(sound):
        whole += 1
    if whole == SHORT_LANES:
        for n in range(SHORT_SIZE):
            for k in range(8):
                lanes[n * SHORT_LANES + k] = window[n] * sound[at + k * hop + n]
        return
    for n in range(SHORT_SIZE):
        for k in range(8):
            lanes[n * SHORT_LANES + k] = window[n] * sound[at + k * hop + n] if k < whole else 0


def _transformed(room: Singles, turns: Singles) -> None:
    """Five steps: from rows 0 and 1 of the room, real and imaginary, into rows 2 and 3."""
    _step(room[0], room[1], room[2], room[3], turns, 1)
    _step(room[2], room[3], room[0], room[1], turns, 4)
    _step(room[0], room[1], room[2], room[3], turns, 16)
    _step(room[2], room[3], room[0], room[1], turns, 64)
    _step(room[0], room[1], room[2], room[3], turns, 256)


def _step(xr: Singles, xi: Singles, yr: Singles, yi: Singles, turns: Singles, stride: int) -> None:
    """One radix-4 step. Sums are held in local arrays, because the compiler cannot know that rows do not overlap."""
    ar, ai = [0.0] * 8, [0.0] * 8  # sums and differences of the first and third
    cr, ci = [0.0] * 8, [0.0] * 8
    br, bi = [0.0] * 8, [0.0] * 8  # and of the second and fourth
    dr, di = [0.0] * 8, [0.0] * 8
    own, quarter = stride * SHORT_LANES, SHORT_SIZE * SHORT_LANES // 4
    for p in range(SHORT_SIZE // (4 * stride)):
        c1, s1 = turns[0, p * stride], turns[1, p * stride]
        c2, s2 = turns[0, 2 * p * stride], turns[1, 2 * p * stride]
        c3, s3 = turns[0, 3 * p * stride], turns[1, 3 * p * stride]
        for q in range(stride):
            at = p * own + q * SHORT_LANES
            to = at + 3 * p * own
            for k in range(8):
                ar[k] = xr[at + k] + xr[at + 2 * quarter + k]
                cr[k] = xr[at + k] - xr[at + 2 * quarter + k]
            for k in range(8):
                ai[k] = xi[at + k] + xi[at + 2 * quarter + k]
                ci[k] = xi[at + k] - xi[at + 2 * quarter + k]
            for k in range(8):
                br[k] = xr[at + quarter + k] + xr[at + 3 * quarter + k]
                dr[k] = xr[at + quarter + k] - xr[at + 3 * quarter + k]
            for k in range(8):
                bi[k] = xi[at + quarter + k] + xi[at + 3 * quarter + k]
                di[k] = xi[at + quarter + k] - xi[at + 3 * quarter + k]
            for k in range(8):
                yr[to + k] = ar[k] + br[k]
            for k in range(8):
                yi[to + k] = ai[k] + bi[k]
            for k in range(8):
                yr[to + own + k] = c1 * (cr[k] + di[k]) + s1 * (ci[k] - dr[k])
            for k in range(8):
                yi[to + own + k] = c1 * (ci[k] - dr[k]) - s1 * (cr[k] + di[k])
            for k in range(8):
                yr[to + 2 * own + k] = c2 * (ar[k] - br[k]) + s2 * (ai[k] - bi[k])
            for k in range(8):
                yi[to + 2 * own + k] = c2 * (ai[k] - bi[k]) - s2 * (ar[k] - br[k])
            for k in range(8):
                yr[to + 3 * own + k] = c3 * (cr[k] - di[k]) + s3 * (ci[k] + dr[k])
            for k in range(8):
                yi[to + 3 * own + k] = c3 * (ci[k] + dr[k]) - s3 * (cr[k] - di[k])


def _squared(real: Singles, imaginary: Singles, out: Singles) -> None:
    """Take the two windows of each complex transform apart."""
    first, second = [0.0] * 8, [0.0] * 8
    for line in range(SHORT_SIZE // 2 + 1):
        at = line * SHORT_LANES
        mirrored = (SHORT_SIZE - line) % SHORT_SIZE * SHORT_LANES
        for k in range(8):
            even, odd = real[at + k] + real[mirrored + k], imaginary[at + k] - imaginary[mirrored + k]
            first[k] = even * even + odd * odd
        for k in range(8):
            even, odd = imaginary[at + k] + imaginary[mirrored + k], real[mirrored + k] - real[at + k]
            second[k] = even * even + odd * odd
        for k in range(8):
            out[line, k] = first[k]
        for k in range(8):
            out[line, SHORT_LANES + k] = second[k]


def _added(real: Singles, imaginary: Singles, out: Singles) -> None:
    """Squares of a line and of its mirror image, in which the two windows of a complex transform differ, cancel so."""
    total = [0.0] * 8
    for line in range(SHORT_SIZE // 2 + 1):
        at = line * SHORT_LANES
        mirrored = (SHORT_SIZE - line) % SHORT_SIZE * SHORT_LANES
        for k in range(8):
            total[k] = real[at + k] * real[at + k] + imaginary[at + k] * imaginary[at + k]
        for k in range(8):
            total[k] += real[mirrored + k] * real[mirrored + k] + imaginary[mirrored + k] * imaginary[mirrored + k]
        for k in range(8):
            out[line, k] = total[k]
