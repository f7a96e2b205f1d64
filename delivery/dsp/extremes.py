"""Extremes of long rows, eight samples at a time: a compiler may not reorder a maximum of floats by itself."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import ANY_ORDER, compiled

Array = NDArray[np.float64]
Row = NDArray[np.floating[Any]]


@compiled(fast=ANY_ORDER | {"nnan"})
def largest(x: Row) -> float:
    """Largest magnitude; 0 of nothing."""
    whole = len(x) // 8 * 8
    a = b = c = d = e = f = g = h = abs(x[0]) if len(x) else x.dtype.type(0)
    for i in range(0, whole, 8):
        a, b, c, d = max(a, abs(x[i])), max(b, abs(x[i + 1])), max(c, abs(x[i + 2])), max(d, abs(x[i + 3]))
        e, f, g, h = max(e, abs(x[i + 4])), max(f, abs(x[i + 5])), max(g, abs(x[i + 6])), max(h, abs(x[i + 7]))
    for i in range(whole, len(x)):
        a = max(a, abs(x[i]))
    return float(max(max(max(a, b), max(c, d)), max(max(e, f), max(g, h))))


@compiled(fast=ANY_ORDER | {"nnan"})
def lowest_and_highest(x: Array) -> tuple[float, float]:
    """Extremes of at least one sample."""
    whole = len(x) // 4 * 4
    a = b = c = d = p = q = r = s = x[0]
    for i in range(0, whole, 4):
        a, b, c, d = min(a, x[i]), min(b, x[i + 1]), min(c, x[i + 2]), min(d, x[i + 3])
        p, q, r, s = max(p, x[i]), max(q, x[i + 1]), max(r, x[i + 2]), max(s, x[i + 3])
    for i in range(whole, len(x)):
        a, p = min(a, x[i]), max(p, x[i])
    return min(min(a, b), min(c, d)), max(max(p, q), max(r, s))
