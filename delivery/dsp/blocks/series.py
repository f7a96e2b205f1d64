"""Growing rows in one array, instead of a list of thousands of small arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Series:
    """Append rows, read them all."""

    def __init__(self, *shape: int) -> None:
        """*shape* of one row; empty for scalars."""
        self._room = np.empty((64, *shape))
        self._count = 0

    def append(self, rows: Array) -> None:
        """Append *rows*, (n, columns)."""
        needed = self._count + len(rows)
        if needed > len(self._room):
            larger = np.empty((max(needed, len(self._room) * 3 // 2), *self._room.shape[1:]))
            larger[: self._count] = self._room[: self._count]
            self._room = larger
        self._room[self._count : needed] = rows
        self._count = needed

    def __len__(self) -> int:
        return self._count

    @property
    def rows(self) -> Array:
        """All rows so far, (n, columns); a view, valid until the next `append`."""
        return self._room[: self._count]
