"""Fourier transform of real numbers, for spectra of the whole file: a third of the time of NumPy's.

Half as many complex numbers are transformed (even samples real, odd ones imaginary) as a matrix: every column, turned
and transposed, and every column again (Gentleman and Sande 1966). In a column each step takes four rows (Stockham's
order, which needs no bit reversal), so that its innermost loop always runs over neighbours. C types are declared in
``_fourier.pxd``.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
    from delivery.dsp.uncompiled import report

    report()

Array = NDArray[np.float64]


def transform(
    planar: Array, window: Array, turns: Array, between: Array, half_turns: Array, room: Array, spectra: Array
) -> None:
    """Spectra of real numbers times a window.

    Parameters
    ----------
    planar : (channels, size); the size is a power of two, 128 or more
    window : (size,)
    turns : (2, size // 2) real and imaginary part of exp(-2 pi i k / (size // 2))
    between : (2, rows, columns) those of k = row * column; rows and columns are powers of two and make size // 2
    half_turns : (2, size // 2) the same of exp(-2 pi i k / size)
    room : (4, more than size // 2), overwritten
    spectra : (channels, 2, size // 2 + 1), the result: real and imaginary parts of what ``numpy.fft.rfft`` gives
    """
    with cython.nogil:
        for c in range(len(planar)):
            _pack(planar[c], window, room[0], room[1])
            _unpack(room, _complex(room, turns, between[0], between[1]), half_turns, spectra[c, 0], spectra[c, 1])


def _pack(x: Array, window: Array, re: Array, im: Array) -> None:
    even, odd = [0.0] * 8, [0.0] * 8
    for at in range(0, len(window) // 2, 8):
        for k in range(8):
            i = 2 * (at + k)
            even[k], odd[k] = x[i] * window[i], x[i + 1] * window[i + 1]
        for k in range(8):
            re[at + k] = even[k]
        for k in range(8):
            im[at + k] = odd[k]


def _complex(room: Array, turns: Array, cosines: Array, sines: Array) -> int:
    """Transform the first two rows of *room*; returns the row in which the real part of the result is."""
    rows, columns = cosines.shape[0], cosines.shape[1]
    at = _columns(room, 0, rows, columns, turns)
    to = 2 - at
    for row in range(0, rows, 8):
        for column in range(0, columns, 8):
            _turn_tile(room[at], room[at + 1], room[to], room[to + 1], row, column, cosines, sines)
    return _columns(room, to, columns, rows, turns)


def _turn_tile(x: Array, y: Array, u: Array, v: Array, row: int, column: int, cosines: Array, sines: Array) -> None:
    """Eight by eight numbers turned and transposed: all they touch is in the L1 cache."""
    re, im = [0.0] * 64, [0.0] * 64
    rows, columns = cosines.shape[0], cosines.shape[1]
    for i in range(8):
        at = (row + i) * columns + column
        for k in range(8):
            c, s = cosines[row + i, column + k], sines[row + i, column + k]
            re[8 * i + k] = x[at + k] * c - y[at + k] * s
            im[8 * i + k] = x[at + k] * s + y[at + k] * c
    for k in range(8):
        to = (column + k) * rows + row
        for i in range(8):
            u[to + i] = re[8 * i + k]
        for i in range(8):
            v[to + i] = im[8 * i + k]


def _columns(room: Array, at: int, length: int, width: int, turns: Array) -> int:
    """Transform every column of a matrix of *width* columns; returns where the result is, in the same order."""
    stride = width
    while length > 1:
        to = 2 - at
        if length == 2:
            _twos(room[at], room[at + 1], room[to], room[to + 1], stride)
            length = 1
        else:
            _fours(room[at], room[at + 1], room[to], room[to + 1], length, stride, turns)
            length //= 4
            stride *= 4
        at = to
    return at


def _fours(x: Array, y: Array, u: Array, v: Array, length: int, stride: int, turns: Array) -> None:
    """One step of four rows from x + i y to u + i v, eight columns at a time."""
    a, b, c, d = [0.0] * 8, [0.0] * 8, [0.0] * 8, [0.0] * 8
    e, f, g, h = [0.0] * 8, [0.0] * 8, [0.0] * 8, [0.0] * 8
    every = turns.shape[1] // length
    quarter = length // 4
    apart = quarter * stride
    for p in range(quarter):
        c1, s1 = turns[0, p * every], turns[1, p * every]
        c2, s2 = turns[0, 2 * p * every], turns[1, 2 * p * every]
        c3, s3 = turns[0, 3 * p * every], turns[1, 3 * p * every]
        for at in range(p * stride, (p + 1) * stride, 8):
            to = at + 3 * p * stride
            for k in range(8):
                a[k], b[k] = x[at + k], x[at + apart + k]
                c[k], d[k] = x[at + 2 * apart + k], x[at + 3 * apart + k]
                e[k], f[k] = y[at + k], y[at + apart + k]
                g[k], h[k] = y[at + 2 * apart + k], y[at + 3 * apart + k]
            for k in range(8):
                u[to + k] = (a[k] + c[k]) + (b[k] + d[k])
                v[to + k] = (e[k] + g[k]) + (f[k] + h[k])
            to += stride
            for k in range(8):
                re, im = (a[k] - c[k]) + (f[k] - h[k]), (e[k] - g[k]) - (b[k] - d[k])
                u[to + k], v[to + k] = re * c1 - im * s1, re * s1 + im * c1
            to += stride
            for k in range(8):
                re, im = (a[k] + c[k]) - (b[k] + d[k]), (e[k] + g[k]) - (f[k] + h[k])
                u[to + k], v[to + k] = re * c2 - im * s2, re * s2 + im * c2
            to += stride
            for k in range(8):
                re, im = (a[k] - c[k]) - (f[k] - h[k]), (e[k] - g[k]) + (b[k] - d[k])
                u[to + k], v[to + k] = re * c3 - im * s3, re * s3 + im * c3


def _twos(x: Array, y: Array, u: Array, v: Array, stride: int) -> None:
    for i in range(stride):
        u[i] = x[i] + x[stride + i]
    for i in range(stride):
        u[stride + i] = x[i] - x[stride + i]
    for i in range(stride):
        v[i] = y[i] + y[stride + i]
    for i in range(stride):
        v[stride + i] = y[i] - y[stride + i]


def _unpack(room: Array, at: int, half_turns: Array, re: Array, im: Array) -> None:
    """The spectra of even and of odd samples, and from them that of all."""
    count = half_turns.shape[1]
    x, y = room[at], room[at + 1]
    re[0], im[0] = x[0] + y[0], 0.0
    re[count], im[count] = x[0] - y[0], 0.0
    re[count // 2], im[count // 2] = x[count // 2], -y[count // 2]
    for k in range(1, 8):
        _unpack_one(x, y, k, half_turns, re, im)
    for k in range(8, count // 2, 8):
        _unpack_eight(x, y, k, half_turns, re, im)


def _unpack_one(x: Array, y: Array, k: int, half_turns: Array, re: Array, im: Array) -> None:
    m = half_turns.shape[1] - k
    a, b = 0.5 * (x[k] + x[m]), 0.5 * (y[k] - y[m])
    c, d = 0.5 * (y[k] + y[m]), 0.5 * (x[m] - x[k])
    e, f = c * half_turns[0, k] - d * half_turns[1, k], c * half_turns[1, k] + d * half_turns[0, k]
    re[k], im[k], re[m], im[m] = a + e, b + f, a - e, f - b


def _unpack_eight(x: Array, y: Array, at: int, half_turns: Array, re: Array, im: Array) -> None:
    """Eight from *at* on, and their mirror images."""
    x0, y0, x1, y1 = [0.0] * 8, [0.0] * 8, [0.0] * 8, [0.0] * 8
    a, b, e, f = [0.0] * 8, [0.0] * 8, [0.0] * 8, [0.0] * 8
    last = half_turns.shape[1] - at
    for k in range(8):
        x0[k], y0[k], x1[k], y1[k] = x[at + k], y[at + k], x[last - k], y[last - k]
    for k in range(8):
        c, d = 0.5 * (y0[k] + y1[k]), 0.5 * (x1[k] - x0[k])
        a[k], b[k] = 0.5 * (x0[k] + x1[k]), 0.5 * (y0[k] - y1[k])
        e[k] = c * half_turns[0, at + k] - d * half_turns[1, at + k]
        f[k] = c * half_turns[1, at + k] + d * half_turns[0, at + k]
    for k in range(8):
        re[at + k] = a[k] + e[k]
    for k in range(8):
        im[at + k] = b[k] + f[k]
    for k in range(8):
        re[last - k] = a[k] - e[k]
    for k in range(8):
        im[last - k] = f[k] - b[k]
