"""Loops over both channels: sums of squares, cross-spectra, and the low band through several low-passes at once.

C types are declared in ``_loops.pxd``. Long sums are written as parallel lanes: compilers may not reorder
floating-point sums, so every processor gives the same figures.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.stereo.layout import (
    DIFFERENCE,
    IMAGINARY,
    LEFT,
    REAL,
    RIGHT,
    SUM,
)

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
    from delivery.dsp.uncompiled import report

    report()

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Singles = NDArray[np.float32]
Spectra = NDArray[np.complex128]

STILL = 1e-30
"""Filter outputs smaller than this are set to zero: denormal numbers are slow."""


def add_cross(spectra: Spectra, sums: Array) -> None:
    """Add one window of two channels, (2, bins), to (4, bins): both powers, then conj(left) * right."""
    pairs = spectra.view(np.float64)
    with cython.nogil:
        for k in range(sums.shape[1]):
            a, b, c, d = pairs[0, 2 * k], pairs[0, 2 * k + 1], pairs[1, 2 * k], pairs[1, 2 * k + 1]
            sums[LEFT, k] += a * a + b * b
            sums[RIGHT, k] += c * c + d * d
            sums[REAL, k] += a * c + b * d
            sums[IMAGINARY, k] += a * d - b * c


def pair_sums(left: Array, right: Array, ends: Integers, open_sums: Array, sums: Array) -> None:
    """Squares of left, right, left + right and left - right, summed up to each of *ends*.

    Parameters
    ----------
    left, right : (frames,)
    ends : (steps,) from ``k_weighting.step_ends``
    open_sums : (SUMS,) of the unfinished step, kept between blocks
    sums : (steps, SUMS), the result
    """
    with cython.nogil:
        at = 0
        for step in range(len(ends) + 1):
            end = ends[step] if step < len(ends) else len(left)
            _add_squares(left, right, at, end, open_sums)
            at = end
            if step < len(ends):
                for k in range(4):
                    sums[step, k] = open_sums[k]
                    open_sums[k] = 0.0


def _add_squares(left: Array, right: Array, at: int, end: int, total: Array) -> None:
    a, b, c, d = [0.0] * 16, [0.0] * 16, [0.0] * 16, [0.0] * 16
    whole = (end - at) // 16 * 16
    for i in range(at, at + whole, 16):
        for k in range(16):
            x, y = left[i + k], right[i + k]
            a[k] += x * x
            b[k] += y * y
            c[k] += (x + y) * (x + y)
            d[k] += (x - y) * (x - y)
    for i in range(at + whole, end):
        x, y = left[i], right[i]
        a[0] += x * x
        b[0] += y * y
        c[0] += (x + y) * (x + y)
        d[0] += (x - y) * (x - y)
    for k in range(8):
        a[k], b[k], c[k], d[k] = a[k] + a[k + 8], b[k] + b[k + 8], c[k] + c[k + 8], d[k] + d[k + 8]
    for k in range(4):
        a[k], b[k], c[k], d[k] = a[k] + a[k + 4], b[k] + b[k + 4], c[k] + c[k + 4], d[k] + d[k + 4]
    total[LEFT] += (a[0] + a[1]) + (a[2] + a[3])
    total[RIGHT] += (b[0] + b[1]) + (b[2] + b[3])
    total[SUM] += (c[0] + c[1]) + (c[2] + c[3])
    total[DIFFERENCE] += (d[0] + d[1]) + (d[2] + d[3])


def numerator(x: Singles, y: Array) -> None:
    """Numerator shared by all the low-passes: (n + NUMERATOR_HISTORY,) to (n,)."""
    four, six = 4.0, 6.0
    with cython.nogil:
        for i in range(len(y)):
            y[i] = (x[i] + x[i + 4]) + four * (x[i + 1] + x[i + 3]) + six * x[i + 2]


def low_sums(left: Array, right: Array, ends: Integers, m: Array, sums: Array) -> None:
    """As :func:`pair_sums`, for both channels after each of the low-passes.

    Parameters
    ----------
    left, right : (frames,) after the numerator
    ends : (steps,) from ``k_weighting.step_ends``
    m : (ROWS, LANES) from ``low_passes``, kept between blocks
    sums : (steps, low-passes, SUMS), the result
    """
    with cython.nogil:
        at = 0
        for step in range(len(ends)):
            _through(left, right, at, ends[step], m)
            at = ends[step]
            _end_step(m, sums[step])
        _through(left, right, at, len(left), m)


def _end_step(m: Array, sums: Array) -> None:
    for k in range(len(sums)):
        power = m[0, k] * m[0, k]
        a, b, product = power * m[13, k], power * m[14, k], power * m[15, k]
        sums[k, LEFT], sums[k, RIGHT] = a, b
        sums[k, SUM], sums[k, DIFFERENCE] = a + b + 2.0 * product, a + b - 2.0 * product
        if abs(m[5, k]) + abs(m[7, k]) + abs(m[9, k]) + abs(m[11, k]) < STILL:
            for row in range(5, 13):
                m[row, k] = 0.0
    for row in range(13, 16):
        for k in range(8):
            m[row, k] = 0.0


def _through(left: Array, right: Array, begin: int, end: int, m: Array) -> None:
    """Both channels through all low-passes; each state is loaded and stored once for four samples.

    Rows of *m*: gain; a1, a2, c1, c2 of both halves; the last two outputs of either half, left then right; sums.
    """
    a1, a2, c1, c2 = [0.0] * 8, [0.0] * 8, [0.0] * 8, [0.0] * 8
    u1, u2, s1, s2 = [0.0] * 8, [0.0] * 8, [0.0] * 8, [0.0] * 8
    v1, v2, t1, t2 = [0.0] * 8, [0.0] * 8, [0.0] * 8, [0.0] * 8
    lefts, rights, products = [0.0] * 8, [0.0] * 8, [0.0] * 8
    for k in range(8):
        a1[k], a2[k], c1[k], c2[k] = m[1, k], m[2, k], m[3, k], m[4, k]
        u1[k], u2[k], s1[k], s2[k] = m[5, k], m[6, k], m[7, k], m[8, k]
        v1[k], v2[k], t1[k], t2[k] = m[9, k], m[10, k], m[11, k], m[12, k]
        lefts[k], rights[k], products[k] = m[13, k], m[14, k], m[15, k]
    fours = begin + (end - begin) // 4 * 4
    for i in range(begin, fours, 4):
        x0, x1, x2, x3 = left[i], left[i + 1], left[i + 2], left[i + 3]
        y0, y1, y2, y3 = right[i], right[i + 1], right[i + 2], right[i + 3]
        for k in range(8):  # the newest feedback is added last, so that each sample waits for one product only
            p, q = (x0 - a2[k] * u2[k]) - a1[k] * u1[k], (y0 - a2[k] * v2[k]) - a1[k] * v1[k]
            p1, q1 = (x1 - a2[k] * u1[k]) - a1[k] * p, (y1 - a2[k] * v1[k]) - a1[k] * q
            p2, q2 = (x2 - a2[k] * p) - a1[k] * p1, (y2 - a2[k] * q) - a1[k] * q1
            p3, q3 = (x3 - a2[k] * p1) - a1[k] * p2, (y3 - a2[k] * q1) - a1[k] * q2
            u1[k], u2[k], v1[k], v2[k] = p3, p2, q3, q2
            p, q = (p - c2[k] * s2[k]) - c1[k] * s1[k], (q - c2[k] * t2[k]) - c1[k] * t1[k]
            p1, q1 = (p1 - c2[k] * s1[k]) - c1[k] * p, (q1 - c2[k] * t1[k]) - c1[k] * q
            p2, q2 = (p2 - c2[k] * p) - c1[k] * p1, (q2 - c2[k] * q) - c1[k] * q1
            p3, q3 = (p3 - c2[k] * p1) - c1[k] * p2, (q3 - c2[k] * q1) - c1[k] * q2
            s1[k], s2[k], t1[k], t2[k] = p3, p2, q3, q2
            lefts[k] += (p * p + p1 * p1) + (p2 * p2 + p3 * p3)
            rights[k] += (q * q + q1 * q1) + (q2 * q2 + q3 * q3)
            products[k] += (p * q + p1 * q1) + (p2 * q2 + p3 * q3)
    for i in range(fours, end):
        x0, y0 = left[i], right[i]
        for k in range(8):
            p, q = (x0 - a2[k] * u2[k]) - a1[k] * u1[k], (y0 - a2[k] * v2[k]) - a1[k] * v1[k]
            u2[k], v2[k], u1[k], v1[k] = u1[k], v1[k], p, q
            p, q = (p - c2[k] * s2[k]) - c1[k] * s1[k], (q - c2[k] * t2[k]) - c1[k] * t1[k]
            s2[k], t2[k], s1[k], t1[k] = s1[k], t1[k], p, q
            lefts[k] += p * p
            rights[k] += q * q
            products[k] += p * q
    for k in range(8):
        m[5, k], m[6, k], m[7, k], m[8, k] = u1[k], u2[k], s1[k], s2[k]
        m[9, k], m[10, k], m[11, k], m[12, k] = v1[k], v2[k], t1[k], t2[k]
        m[13, k], m[14, k], m[15, k] = lefts[k], rights[k], products[k]
