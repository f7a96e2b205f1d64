"""Rows of a table on disk, divided by a number into buckets that each fit into memory."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

BUCKETS = 64
"""At a million songs of 512 landmarks a bucket has 130 MB."""
HELD_ROWS = 1 << 17


class Buckets:
    """Append rows, then take them back bucket by bucket.

    Parameters
    ----------
    folder : an existing folder for the files
    """

    def __init__(self, folder: Path, name: str, dtype: np.dtype[Any]) -> None:
        self._paths = [folder / f"{name}-{number}" for number in range(BUCKETS)]
        self._files = [path.open("wb") for path in self._paths]
        self._dtype = dtype
        self._held: list[tuple[NDArray[Any], NDArray[np.int64]]] = []
        self._held_rows = 0

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        for file in self._files:
            file.close()

    def append(self, rows: NDArray[Any], by: NDArray[Any]) -> None:
        """Add *rows*; those with equal numbers in *by* come into one bucket."""
        self._held.append((rows, (by % np.asarray(BUCKETS, by.dtype)).astype(np.int64)))
        self._held_rows += len(rows)
        if self._held_rows >= HELD_ROWS:
            self._write()

    def take(self) -> Iterator[NDArray[Any]]:
        """The rows of each bucket; nothing can be added any more."""
        self._write()
        for path, file in zip(self._paths, self._files, strict=True):
            file.close()
            rows = np.fromfile(path, self._dtype)
            path.unlink()
            if len(rows):
                yield rows

    def _write(self) -> None:
        if not self._held:
            return
        rows = np.concatenate([rows for rows, _ in self._held])
        numbers = np.concatenate([numbers for _, numbers in self._held])
        order = np.argsort(numbers, kind="stable")
        edges = np.searchsorted(numbers[order], np.arange(BUCKETS + 1))
        for number, file in enumerate(self._files):
            rows[order[edges[number] : edges[number + 1]]].tofile(file)
        self._held, self._held_rows = [], 0
