"""Columns that describe the release: one value for all rows. Pure."""

from __future__ import annotations

from typing import Any

from delivery.intake.sheet.cells import Cell
from delivery.intake.sheet.desk import Desk
from delivery.intake.sheet.header import Header
from delivery.intake.sheet.headings import TOTALS
from delivery.intake.sheet.placeholders import is_ditto
from delivery.model.label_copy import COLUMNS


def release_columns(desk: Desk, header: Header) -> dict[str, Any]:
    """Columns that tell of the release say the same in every row, or the sheet holds several releases."""
    told: dict[str, Any] = {}
    for column, name in header.fields.items():
        if not COLUMNS[name].of_release:
            continue
        found: dict[Any, Cell] = {}
        for index in range(header.last + 1, len(desk.grid.rows)):
            cell = desk.grid.cell(index, column)
            if cell.empty or is_ditto(cell.text) or TOTALS.fullmatch(desk.grid.cell(index, 0).text):
                continue
            before = len(desk.faults)
            value = desk.value(name, cell)
            if len(desk.faults) > before and any(cell.shown == other.shown for other in found.values()):
                desk.faults.pop()
            found.setdefault(value, cell)
        values = {value: cell for value, cell in found.items() if value is not None}
        if len(values) > 1:
            one, other, *_ = values.values()
            quoted = f"{one.text!r} in {one.place} and {other.text!r}"
            desk.fault(
                f"{other.place} {COLUMNS[name].title}",
                quoted,
                "one for the whole release",
                "Several releases in one sheet? Part them.",
            )
        elif values:
            told[name] = next(iter(values))
    return told


def release_artists(desk: Desk, header: Header) -> set[str]:
    """Texts of the column of the release's artist: each is one act."""
    columns = [column for column, name in header.fields.items() if name == "album_artist"]
    rows = range(header.last + 1, len(desk.grid.rows))
    return {text for column in columns for row in rows if (text := desk.grid.cell(row, column).text)}
