"""Order of the rows of a sheet, and values that only one row may have. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from string import ascii_uppercase

from delivery.intake.sheet.row import Row
from delivery.intake.sheet.row_context import RowContext
from delivery.model.fields import FIELDS


def in_order(context: RowContext, rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """Rows by disc and number, numbered across sides; duplicates and split sides become faults."""
    _refuse_doubles(context, rows)
    rows = _numbered_through(context, _lettered_through(context, _with_sides(rows)))
    _refuse_double_numbers(context, rows)
    if all(row["number"] for row in rows):
        ordered = tuple(sorted(rows, key=lambda row: (row["disc"] or 1, row["number"])))
        if ordered != rows:
            context.remark("The rows are not in the order of their numbers; the numbers are used.")
        rows = ordered
    _refuse_split_sides(context, rows)
    return rows


def _with_sides(rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """A row without a side is on the side of the row before it, if on the same disc."""
    filled: list[Row] = []
    for row in rows:
        before = filled[-1] if filled else None
        if before and before["side"] and not row["side"] and row["disc"] == before["disc"]:
            row = _with(row, side=before["side"])
        filled.append(row)
    return tuple(filled)


def _lettered_through(context: RowContext, rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """Sides A and B of the second record become C and D: a release has each letter once."""
    sides = list(dict.fromkeys((row["disc"] or 1, row["side"]) for row in rows if row["side"]))
    if len({side for _, side in sides}) == len(sides):
        return rows
    letters = dict(zip(sorted(sides), ascii_uppercase, strict=False))
    sides_text = ", ".join(
        f"{side} of disc {disc} is {letters[disc, side]}" for disc, side in sorted(sides) if disc > 1
    )
    context.remark(f"Sides are lettered through all discs: {sides_text}.")
    return tuple(
        _with(row, side=letters.get((row["disc"] or 1, row["side"]), "")) if row["side"] else row for row in rows
    )


def _numbered_through(context: RowContext, rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """Renumber tracks within the disc where numbers restart on each side."""
    sided = [row for row in rows if row["side"]]
    places = [(row["disc"] or 1, row["side"], row["number"]) for row in sided]
    on_disc = {(disc, number) for disc, _, number in places}
    if len(sided) < len(rows) or None in {number for *_, number in places}:
        return rows
    if len(on_disc) == len(places) or len(set(places)) < len(places):
        return rows
    ordered = sorted(rows, key=lambda row: (row["disc"] or 1, row["side"], row["number"]))
    counted: dict[int, int] = {}
    numbered = []
    for row in ordered:
        disc = row["disc"] or 1
        counted[disc] = counted.get(disc, 0) + 1
        numbered.append(_with(row, number=counted[disc]))
    firsts = {new["side"]: (old, new) for old, new in reversed(list(zip(ordered, numbered, strict=True)))}
    sides_text = ", ".join(
        f"{side}{old['number']} is {new['number']}" for side, (old, new) in sorted(firsts.items()) if side != "A"
    )
    context.remark(f"Numbers restart on each side; they are numbered across sides: {sides_text}.")
    return tuple(numbered)


def _refuse_split_sides(context: RowContext, rows: Sequence[Row]) -> None:
    seen: list[str] = []
    for before, row in pairwise(rows):
        if row["side"] == before["side"]:
            continue
        seen.append(before["side"])
        if row["side"] and row["side"] in seen:
            place = row.places.get("side") or row.places.get("number") or f"row {row.row}"
            found = f"side {row['side']} again, after side {before['side']}"
            context.fault(f"{place} Side", found, "all tracks of a side together", "Correct the side or the number.")


def _refuse_doubles(context: RowContext, rows: Sequence[Row]) -> None:
    for name, what in (("isrc", "a code of its own for each track"), ("file", "a file of its own for each track")):
        seen: dict[str, Row] = {}
        for row in rows:
            if not row[name]:
                continue
            before = seen.setdefault(str(row[name]).casefold(), row)
            if before is not row:
                found = f"{row[name]!r}, which {before.places[name]} has already"
                context.fault(f"{row.places[name]} {FIELDS[name].title}", found, what, "Ask which of them is right.")


def _refuse_double_numbers(context: RowContext, rows: Sequence[Row]) -> None:
    places: dict[tuple[int, int], Row] = {}
    for row in rows:
        if row["number"]:
            before = places.setdefault((row["disc"] or 1, row["number"]), row)
            if before is not row:
                found = f"number {row['number']}, which {before.places['number']} has already"
                context.fault(
                    f"{row.places['number']} Track no.", found, "each number once on its disc", "Correct one of them."
                )


def _with(row: Row, **values: object) -> Row:
    return replace(row, values={**row.values, **values})
