"""Cells that repeat another: ditto marks, 'idem', 'see track 1'. Pure."""

from __future__ import annotations

import re
from dataclasses import dataclass

from delivery.intake.sheet.cells import Cell, Grid, clean
from delivery.intake.sheet.desk import Desk
from delivery.intake.sheet.header import Header
from delivery.intake.sheet.placeholders import BY_TITLE, MARKS, REFERENCE, WORDS
from delivery.intake.sheet.refused import Choice, Refused

MAY_BE_MEANT = ("title", "album", "version", "album_version")
"""Fields in which such words, though not the marks, may be the value itself."""


@dataclass(frozen=True, slots=True)
class Tracks:
    """The rows of one table that are tracks."""

    grid: Grid
    header: Header
    rows: tuple[int, ...]
    """From 0."""


def resolved(desk: Desk, tracks: Tracks, row: int, column: int) -> Cell:
    """The cell, or the cell of the same column that it repeats; what repeats nothing becomes a fault."""
    cell = tracks.grid.cell(row, column)
    name = tracks.header.fields[column]
    source, seen = row, {row}
    while (text := tracks.grid.cell(source, column).text) and (
        found := _source(tracks, source, column, text)
    ) is not None:
        if found in seen or found < 0:
            if name in MAY_BE_MEANT and cell.text.casefold() not in MARKS:
                return cell
            desk.fault_of(name, cell, "a cell that it repeats", "It repeats nothing: write the value itself.")
            return Cell(cell.place)
        source = found
        seen.add(found)
    if source == row:
        return cell
    other = tracks.grid.cell(source, column)
    if other.empty:
        desk.fault_of(name, cell, "a cell that it repeats", f"{other.place} is empty: write the value itself.")
        return Cell(cell.place)
    if name in MAY_BE_MEANT and cell.text.casefold() not in MARKS:
        choices = (Choice(f"{other.text!r}, as in {other.place}", other), Choice(f"{cell.text!r} itself", cell))
        remedy = f'Write what {other.place} says if it repeats that; if it is the value itself, write "{cell.text}".'
        chosen = desk.choose(name, cell, Refused("the value itself", remedy, choices))
        return Cell(cell.place) if chosen is None else Cell(cell.place, chosen.value, chosen.shown)
    desk.remark(f"{cell.place}: {cell.text!r} repeats {other.place}.")
    return Cell(cell.place, other.value, other.shown, other.trouble)


def _source(tracks: Tracks, row: int, column: int, text: str) -> int | None:
    """The row that the text of a cell points to; -1: one that is not there; None: it points to none."""
    word = clean(text).casefold()
    if word in MARKS or word in WORDS:
        return max((other for other in tracks.rows if other < row), default=-1)
    if found := REFERENCE.fullmatch(word):
        return _by_number(tracks, row, found["number"], found["word"] or "")
    named_title = tracks.header.fields[column] not in MAY_BE_MEANT
    if named_title and (found := BY_TITLE.fullmatch(word)):
        return _by_title(tracks, found["title"])
    return None


def _by_number(tracks: Tracks, row: int, number: str, word: str) -> int:
    """The last such number above, since numbers begin again on each disc; else the first below."""
    if word in ("row", "line", "zeile"):
        return int(number) - 1 if number.isdecimal() and int(number) - 1 in tracks.rows else -1
    column = next((column for column, name in tracks.header.fields.items() if name == "number"), None)
    if column is None:
        at = int(number) - 1 if number.isdecimal() else -1
        return tracks.rows[at] if 0 <= at < len(tracks.rows) else -1
    same = [other for other in tracks.rows if _key(tracks.grid.cell(other, column).text) == _key(number)]
    return next((other for other in reversed(same) if other < row), next(iter(same), -1))


def _key(number: str) -> str:
    return re.sub(r"[\s.\-#]|(?<!\d)0+|(?:[/]|of|von|de).*", "", number.casefold())


def _by_title(tracks: Tracks, title: str) -> int | None:
    column = next(column for column, name in tracks.header.fields.items() if name == "title")
    return next((row for row in tracks.rows if tracks.grid.cell(row, column).text.casefold() == title), None)
