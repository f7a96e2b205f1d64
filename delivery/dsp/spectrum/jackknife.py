"""Standard errors of figures made of sums over time: the jackknife, leaving out each time segment once.

Quenouille 1956, Tukey 1958; over segments rather than single values because neighbouring windows of music are alike
(Künsch, "The Jackknife and the Bootstrap for General Stationary Observations", 1989).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

MOST = 64
FIRST_S = 1.5
"""Longer than any window, so that neighbouring segments share little of one."""
LEAST_STRETCHES = 4


class Stretches:
    """Sums by time segment, at most MOST of them; they double in length if the file outgrows them.

    *duration_s* of the file, 0 if unknown, only saves the doubling.
    """

    def __init__(self, width: int, duration_s: float) -> None:
        self._rows = np.zeros((MOST, width))
        self._length_s = FIRST_S
        self.ends(duration_s)

    def add(self, at_s: float, sums: Array) -> None:
        """Add *sums* to the segment that contains *at_s*."""
        number, _ = self.ends(at_s)  # first, since it may replace the rows
        self._rows[number] += sums

    def ends(self, at_s: float) -> tuple[int, float]:
        """Number of the segment that contains *at_s*, and its end in s."""
        while at_s >= MOST * self._length_s:
            halves = self._rows.reshape(MOST // 2, 2, -1).sum(axis=1)
            self._rows = np.concatenate([halves, np.zeros_like(halves)])
            self._length_s *= 2
        number = int(at_s / self._length_s)
        return number, (number + 1) * self._length_s

    @property
    def length_s(self) -> float:
        """Of every stretch."""
        return self._length_s

    def parts(self) -> Array:
        """(MOST, width): the sums of every stretch, those behind the end of the file zero."""
        return self._rows

    def total(self) -> Array:
        """Sum over all stretches."""
        return np.asarray(self._rows.sum(axis=0))

    def standard_error(self, figure: Callable[[Array], Array]) -> Array | None:
        """Standard error of *figure* of the sums, (rows, width) to (rows, figures); None if there are too few."""
        rows = self._rows[self._rows.any(axis=1)]
        if len(rows) < LEAST_STRETCHES:
            return None
        without = figure(rows.sum(axis=0) - rows)
        spread = np.sum((without - without.mean(axis=0)) ** 2, axis=0)
        return np.asarray(np.sqrt((len(rows) - 1) / len(rows) * spread))
