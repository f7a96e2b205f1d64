"""The rows of a sheet in order, and what may stand in one row only. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from delivery.intake.sheet.desk import Desk
from delivery.intake.sheet.row import Row
from delivery.model.label_copy import COLUMNS


def refuse_doubles(desk: Desk, rows: Sequence[Row]) -> None:
    for name, what in (("isrc", "a code of its own for each track"), ("file", "a file of its own for each track")):
        seen: dict[str, Row] = {}
        for row in rows:
            if not row[name]:
                continue
            before = seen.setdefault(str(row[name]).casefold(), row)
            if before is not row:
                found = f"{row[name]!r}, which {before.places[name]} has already"
                desk.fault(f"{row.places[name]} {COLUMNS[name].title}", found, what, "Ask which of them is right.")
    places: dict[tuple[int, int], Row] = {}
    for row in rows:
        if row["number"]:
            before = places.setdefault((row["disc"] or 1, row["number"]), row)
            if before is not row:
                found = f"number {row['number']}, which {before.places['number']} has already"
                desk.fault(
                    f"{row.places['number']} Track no.", found, "each number once on its disc", "Correct one of them."
                )


def in_order(desk: Desk, rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """By number where every row has one."""
    if not all(row["number"] for row in rows):
        return rows
    ordered = tuple(sorted(rows, key=lambda row: (row["disc"] or 1, row["number"])))
    if ordered != rows:
        desk.remark("The rows do not stand in the order of their numbers; the numbers count.")
    return ordered
