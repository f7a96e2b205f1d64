"""Columns that describe the release: one value for all rows. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from delivery.intake.sheet.above import column_of
from delivery.intake.sheet.cells import Cell, Grid
from delivery.intake.sheet.header import Header
from delivery.intake.sheet.placeholders import is_ditto
from delivery.intake.sheet.row_context import RowContext
from delivery.model.fields import FIELDS


def release_columns(context: RowContext, grid: Grid, header: Header, rows: Sequence[int]) -> dict[str, Any]:
    """Columns about the release have the same value in every row, or the sheet holds several releases.

    Parameters
    ----------
    rows : those of tracks, from 0
    """
    stated: dict[str, Any] = {}
    for column, of_column in header.fields.items():
        if not FIELDS[of_column].of_release:
            continue
        cells = [cell for row in rows if not (cell := grid.cell(row, column)).empty and not is_ditto(cell.text)]
        name = column_of(of_column, cells[0]) if cells else of_column
        found: dict[Any, Cell] = {}
        for cell in cells:
            before = len(context.faults)
            value = context.value(name, cell)
            if len(context.faults) > before and any(cell.shown == other.shown for other in found.values()):
                context.faults.pop()
            found.setdefault(value, cell)
        values = {value: cell for value, cell in found.items() if value is not None}
        if len(values) > 1:
            one, other, *_ = values.values()
            quoted = f"{one.text!r} in {one.place} and {other.text!r}"
            context.fault(
                f"{other.place} {FIELDS[name].title}",
                quoted,
                "one for the whole release",
                "Several releases in one sheet? Split them.",
            )
        elif values:
            stated[name] = next(iter(values))
    return stated


def release_artists(grid: Grid, header: Header) -> set[str]:
    """Texts of the release artist column: each is one act."""
    columns = [column for column, name in header.fields.items() if name == "album_artist"]
    rows = range(header.last + 1, min(header.until, len(grid.rows)))
    return {text for column in columns for row in rows if (text := grid.cell(row, column).text)}
