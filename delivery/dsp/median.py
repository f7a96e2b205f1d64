"""The median as NumPy gives it, whose own loads the module of masked arrays: longer than a short file is measured."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray


def median(values: ArrayLike) -> float:
    """Of all values; not a number where one of them is not, or where there are none."""
    return float(medians(np.ravel(values)))


def medians(values: ArrayLike) -> NDArray[np.float64]:
    """Along the last axis; the mean of the middle two of an even number."""
    given = np.asarray(values, dtype=np.float64)
    count = given.shape[-1]
    if not count:
        return np.full(given.shape[:-1], np.nan)
    low, high = (count - 1) // 2, count // 2
    ordered = np.partition(given, (low, high, count - 1), axis=-1)
    middle = (ordered[..., low] + ordered[..., high]) / 2 if high > low else ordered[..., low]
    found: NDArray[np.float64] = np.where(np.isnan(ordered[..., -1]), np.nan, middle)  # those that are not sort last
    return found
