"""Tables of tracks on one sheet: one below the other, or side by side. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from delivery.intake.sheet.cells import Grid, only_columns, place_of
from delivery.intake.sheet.columns import words_of
from delivery.intake.sheet.header import MANY, Header, find_header, headers_at, repeats
from delivery.intake.sheet.parsed import CellError, Choice
from delivery.intake.sheet.row import Row
from delivery.intake.sheet.row_context import RowContext
from delivery.model.fields import FIELDS

SEARCHED_ROWS = 2_000
OF_A_TRACK = frozenset(("number", "isrc", "duration"))
"""Fields of which a table of tracks has one; a block of labels above the table has none."""


@dataclass(frozen=True, slots=True)
class Table:
    """One table of a sheet."""

    grid: Grid
    """With its own columns only."""
    header: Header

    @property
    def names_titles(self) -> bool:
        """True if one of its columns is the title."""
        return "title" in self.header.fields.values()

    @property
    def begins(self) -> str:
        """'A further table begins in A12'."""
        return f"A further table begins in {place_of(self.header.first, min(self.header.fields))}"


def tables_in(grid: Grid, known: Mapping[str, str]) -> tuple[Table, ...]:
    """Tables in reading order, the first of them with titles; empty if no row names columns."""
    main = find_header(grid, known)
    if main is None:
        return ()
    headers = [*_above(grid, main, known), main, *_below(grid, main, known)]
    ends = [header.first for header in headers[1:]] + [len(grid.rows)]
    bounded = [replace(header, until=end) for header, end in zip(headers, ends, strict=True)]
    return tuple(table for header in bounded for table in _side_by_side(grid, header, known))


def _above(grid: Grid, main: Header, known: Mapping[str, str]) -> Iterator[Header]:
    row = 0
    while row < main.first:
        found = _fullest(grid, row, known)
        if (
            found
            and found.last < main.first
            and "title" in (names := set(found.fields.values()))
            and names & OF_A_TRACK
        ):
            yield found
            row = found.last
        row += 1


def _below(grid: Grid, main: Header, known: Mapping[str, str]) -> Iterator[Header]:
    """Headers with other columns; one without a title also ends the table above it."""
    before, row = main, main.last + 1
    while row < min(len(grid.rows), SEARCHED_ROWS):
        found = _fullest(grid, row, known) if _may_begin(grid, before, row, known) else None
        if found and len(found.fields) > 1 and ("title" in found.fields.values() or not found.unread):
            yield found
            before, row = found, found.last
        row += 1


def _may_begin(grid: Grid, before: Header, row: int, known: Mapping[str, str]) -> bool:
    """False for a track whose cells happen to be 'Explicit' and 'Instrumental': a header has no digits, and a gap or a
    heading above."""
    if sum(not cell.empty for cell in grid.rows[row - 1]) > 1 or repeats(grid.rows[row], before, known):
        return False
    tracks = [grid.cell(row, column).text for column, name in before.fields.items() if name in OF_A_TRACK]
    return not any(character.isdecimal() for text in tracks for character in text)


def _fullest(grid: Grid, row: int, known: Mapping[str, str]) -> Header | None:
    return max(headers_at(grid, row, known), key=lambda header: len(header.fields), default=None)


def _side_by_side(grid: Grid, header: Header, known: Mapping[str, str]) -> Iterator[Table]:
    """'No | Title | Length | No | Title | Length' are two tables: the title and another field repeat."""
    again = sorted(
        column for column, first in header.second.items() if column > first and header.fields[first] not in MANY
    )
    names = [header.fields[header.second[column]] for column in again]
    if "title" not in names or len(set(names)) < 2:
        yield Table(grid, header)
        return
    for columns in (range(again[0]), range(again[0], 1 << 14)):
        part = only_columns(grid, columns)
        same = [found for found in headers_at(part, header.first, known) if found.last == header.last]
        yield from _side_by_side(part, replace(same[0], until=header.until), known) if same else ()


def settled_columns(context: RowContext, grid: Grid, header: Header) -> Header:
    """Remarks on columns: not read, hidden, and two for one field, of which a person chooses."""
    for title in header.unread:
        context.remark(f"The column {title!r} is not read; use --column '{title}=FIELD' to read it.")
    for column in sorted(grid.hidden & set(header.fields)):
        context.remark(f"Column {_letter(column)} ({header.titles[column]!r}) is hidden and is read all the same.")
    fields = dict(header.fields)
    for column, first in header.second.items():
        what = FIELDS[header.fields[first]].title
        sentence = f"Column {_letter(column)} ({header.titles[column]!r})"
        if column in grid.hidden:
            context.remark(f"{sentence} is hidden and not read; {what} is read from column {_letter(first)}.")
        elif _contradict(grid, header, column, first) and words_of(header.titles[column]) == words_of(
            header.titles[first]
        ):
            cell = grid.cell(header.last, column)
            choices = [Choice(f"column {_letter(one)}", one) for one in (first, column)]
            remedy = f"Columns {_letter(first)} and {_letter(column)} differ: delete the wrong one."
            chosen = context.choose(fields[first], cell, CellError(f"one column for {what}", remedy, choices))
            if chosen == column:
                fields[column] = fields.pop(first)
        else:
            context.remark(f"{sentence} is a second column for {what} and not read; column {_letter(first)} is.")
    return replace(header, fields={column: fields[column] for column in sorted(fields)})


def join_tables(
    context: RowContext, beside: RowContext, rows: tuple[Row, ...], more: tuple[Row, ...], table: Table
) -> tuple[Row, ...]:
    """Join tables: a further one holds more tracks, or more about the same tracks; anything else becomes a question.

    Parameters
    ----------
    beside : holds the messages of the further table
    """
    if not more:
        context.remark(f"{table.begins}; it has no tracks and is not read.")
        return rows
    by_title = {_title(row): row for row in rows}
    same = [row for row in more if _title(row) in by_title]
    places = {_place(row) for row in rows if row["number"]}
    clash = any(_place(row) in places for row in more if row["number"])
    if len(same) == len(more) and len(by_title) == len(rows):
        context.take(beside)
        context.remark(f"{table.begins}; it is read as more about the same tracks.")
        added = {_title(row): row for row in more}
        return tuple(_merged(context, row, added.get(_title(row))) for row in rows)
    if not same and not clash:
        context.take(beside)
        context.remark(f"{table.begins}; its {len(more)} rows are read as tracks too.")
        return (*rows, *more)
    choices = (Choice("more tracks of this release", True), Choice("something else: leave it out", False))
    remedy = f"{table.begins}: move it to a sheet of its own, or delete it."
    cell = table.grid.cell(table.header.first, min(table.header.fields))
    if context.choose("title", cell, CellError("one table of tracks", remedy, choices)):
        context.take(beside)
        return (*rows, *more)
    return rows


def _merged(context: RowContext, row: Row, more: Row | None) -> Row:
    """Values of both rows; contradictions become faults."""
    if more is None:
        return row
    for name, value in more.values.items():
        if name in row.values and row[name] != value:
            place = more.places.get(name, f"row {more.row}")
            found = f"{value!r}, but {row[name]!r} in row {row.row}"
            title = FIELDS[name].title if name in FIELDS else name
            context.fault(f"{place} {title}", found, "one value for a track", "Correct one of them.")
    return Row(row.row, {**more.values, **row.values}, {**more.places, **row.places})


def _contradict(grid: Grid, header: Header, one: int, other: int) -> bool:
    rows = range(header.last + 1, min(len(grid.rows), header.until))
    pairs = [(grid.cell(row, one).text, grid.cell(row, other).text) for row in rows]
    return any(first and second and first != second for first, second in pairs)


def _title(row: Row) -> tuple[str, str]:
    return str(row["title"]).casefold(), str(row["version"] or "").casefold()


def _place(row: Row) -> tuple[object, object, object]:
    return row["disc"], row["side"], row["number"]


def _letter(column: int) -> str:
    return place_of(0, column).removesuffix("1")
