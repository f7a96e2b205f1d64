"""Cells and grids. Pure."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta

Value = str | int | float | bool | date | datetime | time | timedelta | None

_BLANKS = re.compile(r"[\u00a0\u1680\u2000-\u200a\u202f\u205f\u3000\t\x0b\x0c\x1c-\x1f\x85]")
_MADE_TEXT = ("'=", "'+", "'-", "'@")
_INVISIBLE = re.compile(r"[\u200b\u2060\ufeff\u00ad\x00-\x08\x0e-\x1b\x7f]")


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell: its address, stored value and displayed text."""

    place: str
    """'B7', as spreadsheets count."""
    value: Value = None
    shown: str = ""
    """The text shown to a person, as far as known."""
    trouble: str = ""
    """Why it has no value: '#REF!', a formula without a stored result."""

    @property
    def text(self) -> str:
        """The text on one clean line; empty for an empty cell."""
        return " ".join(self.lines)

    @property
    def lines(self) -> list[str]:
        """Clean lines of the text, without empty ones, and without the apostrophe that marks a formula as text."""
        shown = self.shown[1:] if self.shown[:2] in _MADE_TEXT else self.shown
        return [line for line in map(clean, shown.splitlines()) if line]

    @property
    def empty(self) -> bool:
        """True if there is neither text nor an error."""
        return not (self.text or self.trouble)


@dataclass(frozen=True, slots=True)
class Grid:
    """The cells of one sheet, and what was noticed when it was read."""

    name: str
    """'label copy.csv', or 'label copy.xlsx, sheet Tracks'."""
    rows: tuple[tuple[Cell, ...], ...]
    remarks: tuple[str, ...] = ()
    sheet: str = ""
    """Name of the sheet in a workbook."""
    hidden: frozenset[int] = frozenset()
    """Columns that the sheet does not show, from 0."""

    def cell(self, row: int, column: int) -> Cell:
        """The cell at these indices, from 0; an empty cell if the row is shorter."""
        cells = self.rows[row] if row < len(self.rows) else ()
        return cells[column] if column < len(cells) else Cell(place_of(row, column))


def only_columns(grid: Grid, columns: range) -> Grid:
    """The same grid with all other columns empty."""
    rows = tuple(tuple(cell if at in columns else Cell(cell.place) for at, cell in enumerate(row)) for row in grid.rows)
    return replace(grid, rows=rows)


def clean(text: str) -> str:
    """Composed (NFC), all blanks plain, no invisible characters, no blanks at the ends; words unchanged.

    Joiners that belong to spelling (U+200C, U+200D) are kept.
    """
    return unicodedata.normalize("NFC", _INVISIBLE.sub("", _BLANKS.sub(" ", text))).strip()


def place_of(row: int, column: int) -> str:
    """'B7' for row 6, column 1, counted from 0."""
    letters = ""
    column += 1
    while column:
        column, digit = divmod(column - 1, 26)
        letters = chr(65 + digit) + letters
    return f"{letters}{row + 1}"


def text_grid(name: str, rows: list[list[str]], remarks: tuple[str, ...] = ()) -> Grid:
    """A grid of texts, as from a CSV file."""
    cells = tuple(
        tuple(Cell(place_of(r, c), text or None, text) for c, text in enumerate(row)) for r, row in enumerate(rows)
    )
    return Grid(name, cells, remarks)
