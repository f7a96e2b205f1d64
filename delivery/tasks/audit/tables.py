"""Tables that are written row by row: CSV always, Parquet as well where pyarrow is installed."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from contextlib import ExitStack
from importlib.util import find_spec
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from delivery.model.label_copy import inert
from delivery.report.data.audit import FLAG, INTEGER, NUMBER, TEXT

BATCH = 1000
"""Rows of a Parquet file that are in memory together; a row group has them all."""


def has_parquet() -> bool:
    """Whether pyarrow is installed."""
    return find_spec("pyarrow") is not None


class Table:
    """One table of an audit, as NAME.csv and NAME.parquet.

    Parameters
    ----------
    columns : name -> type, as ``report.data.audit`` has them
    """

    def __init__(self, folder: Path, name: str, columns: Mapping[str, str]) -> None:
        self._open = ExitStack()
        # The byte-order mark is for spreadsheet programs, which otherwise read UTF-8 as something else.
        file = self._open.enter_context(
            (folder / f"{name}.csv").open("w", encoding="utf-8-sig", newline="", errors="replace")
        )
        self._csv = csv.writer(file)
        self._csv.writerow(columns)
        self._columns = tuple(columns)
        self._parquet = _Parquet(folder / f"{name}.parquet", columns, self._open) if has_parquet() else None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        with self._open:
            if self._parquet and error is None:
                self._parquet.flush()

    def add(self, row: Mapping[str, Any]) -> None:
        """Write a row."""
        self._csv.writerow([_cell(row[name]) for name in self._columns])
        if self._parquet:
            self._parquet.add(row)


class _Parquet:
    def __init__(self, path: Path, columns: Mapping[str, str], open_files: ExitStack) -> None:
        import pyarrow
        import pyarrow.parquet

        types = {TEXT: pyarrow.string(), INTEGER: pyarrow.int64(), NUMBER: pyarrow.float64(), FLAG: pyarrow.bool_()}
        self._schema = pyarrow.schema([(name, types[kind]) for name, kind in columns.items()])
        self._batch_of = pyarrow.RecordBatch.from_pylist
        self._writer = open_files.enter_context(pyarrow.parquet.ParquetWriter(path, self._schema, compression="zstd"))
        self._held: list[Mapping[str, Any]] = []

    def add(self, row: Mapping[str, Any]) -> None:
        self._held.append({name: _typed(row[name], field) for name, field in zip(row, self._schema, strict=True)})
        if len(self._held) >= BATCH:
            self.flush()

    def flush(self) -> None:
        if self._held:
            self._writer.write_batch(self._batch_of(self._held, schema=self._schema))
            self._held = []


def _typed(value: Any, field: Any) -> Any:
    """A whole number of a float figure as a float; text without characters that no text may have."""
    if isinstance(value, str):
        return value.encode("utf-8", errors="replace").decode("utf-8")
    return float(value) if value is not None and str(field.type) == "double" else value


def _cell(value: Any) -> Any:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return inert(value) if isinstance(value, str) else value
