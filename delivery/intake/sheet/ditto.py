"""Cells that repeat another one: ditto marks, 'idem', 'see track 1'. Pure."""

from __future__ import annotations

import re
from bisect import bisect_left
from dataclasses import dataclass, field

from delivery.intake.sheet.cells import Cell, Grid, clean
from delivery.intake.sheet.columns import PERSON
from delivery.intake.sheet.header import Header
from delivery.intake.sheet.parsed import CellError, Choice
from delivery.intake.sheet.placeholders import BY_TITLE, MARKS, REFERENCE, SIDEWAYS, WORDS, is_ditto
from delivery.intake.sheet.row_context import RowContext

MAY_BE_MEANT = ("title", "album", "version", "album_version")
"""Fields in which such words, though not the marks, may be the value itself."""


@dataclass(frozen=True, slots=True)
class Tracks:
    """The track rows of one table."""

    grid: Grid
    header: Header
    rows: tuple[int, ...]
    """From 0."""
    known: dict[tuple[int, int], int] = field(default_factory=dict)
    """Row and column -> row whose cell applies, as far as already resolved."""


def resolved(context: RowContext, tracks: Tracks, row: int, column: int) -> Cell:
    """The cell, or the cell that it repeats; a repetition of nothing becomes a fault."""
    cell = tracks.grid.cell(row, column)
    source = _followed(tracks, row, column)
    if source == row:
        return cell
    name = tracks.header.fields[column]
    above = tracks.grid.cell(source, column) if source >= 0 else Cell("")
    left = _to_the_left(tracks, row, column)
    marked = cell.text.casefold() in MARKS
    if left and above.empty:
        above = left
    if above.empty:
        if source < 0 and name in MAY_BE_MEANT and not marked:
            return cell
        found = f"{above.place} is empty" if above.place else "It repeats nothing"
        context.fault_of(name, cell, "a cell that it repeats", f"{found}: write the value itself.")
        return Cell(cell.place)
    if name in MAY_BE_MEANT and not marked:
        return _requested(context, name, cell, above, Choice(f"{cell.text!r} itself", cell))
    if left and left.text != above.text:
        return _requested(context, name, cell, above, Choice(f"{left.text!r}, as in {left.place}", left))
    context.remark(f"{cell.place}: {cell.text!r} repeats {above.place}.")
    return Cell(cell.place, above.value, above.shown, above.trouble)


def _requested(context: RowContext, name: str, cell: Cell, above: Cell, or_else: Choice) -> Cell:
    other = or_else.value
    remedy = f"Write the value of {above.place} if it repeats that, or the value of {other.place}."
    if other is cell:
        remedy = f'Write the value of {above.place} if it repeats that; if it is the value itself, write "{cell.text}".'
    choices = (Choice(f"{above.text!r}, as in {above.place}", above), or_else)
    chosen = context.choose(name, cell, CellError("the value itself", remedy, choices))
    return Cell(cell.place) if chosen is None else Cell(cell.place, chosen.value, chosen.shown)


def _followed(tracks: Tracks, row: int, column: int) -> int:
    """The row whose cell applies: the cell's own, or the end of the chain of references; -1 if that leads nowhere."""
    path = [row]
    while (source := tracks.known.get((path[-1], column))) is None:
        text = tracks.grid.cell(path[-1], column).text
        found = _source(tracks, path[-1], column, text) if text else None
        source = path[-1] if found is None else -1 if found < 0 or found in path else None
        if source is not None or found is None:
            break
        path.append(found)
    final = -1 if source is None else source
    tracks.known.update({(one, column): final for one in path})
    return final


def _to_the_left(tracks: Tracks, row: int, column: int) -> Cell | None:
    """Names in the nearest person column to the left, which 'ditto' or 'idem' (but no mark) may repeat as well."""
    if tracks.header.fields[column] not in PERSON or tracks.grid.cell(row, column).text.casefold() not in SIDEWAYS:
        return None
    columns = [at for at, name in tracks.header.fields.items() if name in PERSON and at < column]
    left = tracks.grid.cell(row, max(columns)) if columns else Cell("")
    return None if left.empty or is_ditto(left.text) else left


def _source(tracks: Tracks, row: int, column: int, text: str) -> int | None:
    """The row that a cell's text refers to; -1: a missing row; None: no reference."""
    word = clean(text).casefold()
    if word in MARKS or word in WORDS:
        at = bisect_left(tracks.rows, row)
        return tracks.rows[at - 1] if at else -1
    if found := REFERENCE.fullmatch(word):
        return _by_number(tracks, row, found["number"], found["word"] or "")
    named_title = tracks.header.fields[column] not in MAY_BE_MEANT
    if named_title and (found := BY_TITLE.fullmatch(word)):
        return _by_title(tracks, found["title"])
    return None


def _by_number(tracks: Tracks, row: int, number: str, word: str) -> int:
    """The last such number above, since numbers restart on each disc; else the first below."""
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
