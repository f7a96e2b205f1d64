"""Find the header rows, and the field of each column. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from delivery.errors import Unusable
from delivery.intake.sheet.cells import Cell, Grid, clean
from delivery.intake.sheet.columns import IGNORED, OF_PERSON, field_of, words_of
from delivery.intake.sheet.positions import heading as side_heading
from delivery.model.fields import FIELDS

MOST_ROWS = 3
MOST_ROWS_OF_ALL = 1 << 31
SEARCHED_ROWS = 60
MANY = (*OF_PERSON, *(field.id for field in FIELDS.values() if field.people))
"""Fields that several columns of one sheet may hold: 'Composer 1', 'Composer 2'."""


@dataclass(frozen=True, slots=True)
class Header:
    """The header rows of a table and the field of each column."""

    first: int
    """Index of its first row, from 0."""
    last: int
    fields: Mapping[int, str]
    """Column, from 0 -> field id."""
    titles: Mapping[int, str]
    unread: tuple[str, ...]
    """Titles of unknown columns."""
    second: Mapping[int, int] = field(default_factory=dict)
    """Column not read -> column read as the same field instead."""
    until: int = MOST_ROWS_OF_ALL
    """Index of the row after the table, from 0."""


def find_header(grid: Grid, known: Mapping[str, str]) -> Header | None:
    """The rows that name most fields, the title among them; None if there are none.

    Parameters
    ----------
    known : a client's own headers, normalised -> field id
    """
    best: Header | None = None
    for first in range(min(len(grid.rows), SEARCHED_ROWS)):
        for found in headers_at(grid, first, known):
            if "title" in found.fields.values() and (best is None or len(found.fields) > len(best.fields)):
                best = found
    return best if best and len(best.fields) > 1 else None


def headers_at(grid: Grid, first: int, known: Mapping[str, str]) -> Iterator[Header]:
    """Headers that begin in row *first*, one row high, two rows high ..., as long as the rows belong together."""
    for height in range(1, MOST_ROWS + 1):
        rows = grid.rows[first : first + height]
        if len(rows) < height or not all(_is_header(row, known) for row in rows):
            return
        yield _read(grid, first, first + height - 1, known)


def repeats(row: Sequence[Cell], header: Header, known: Mapping[str, str]) -> bool:
    """True if a row further down repeats the header, as on printed pages: the title, and no other column."""
    named = {column: name for column, cell in enumerate(row) if cell.text and (name := _named(cell, known))}
    same = [column for column, name in named.items() if header.fields.get(column) == name]
    titled = any(header.fields[column] == "title" for column in same)
    return titled and len(same) == len(named) > 1 and len(same) * 2 >= sum(bool(cell.text) for cell in row)


def _is_header(row: Sequence[Cell], known: Mapping[str, str]) -> bool:
    """True for texts only, half of them known words or in brackets like '(mm:ss)'."""
    texts = [cell for cell in row if cell.text]
    if not texts or any(cell.value is not None and not isinstance(cell.value, str) for cell in texts):
        return False
    if side_heading(texts[0].text):
        return False
    groups = [cell for cell in texts if _named(cell, known) or _is_hint(cell.text)]
    return len(groups) * 2 >= len(texts) and (len(groups) > 1 or len(texts) == 1)


def _is_hint(text: str) -> bool:
    return bool(re.fullmatch(r"[(\[].*[)\]]|name|names|nr\.?|%|legal name|last name|first name", text, re.IGNORECASE))


def _named(cell: Cell, known: Mapping[str, str]) -> str:
    """True for a header word; numbers count persons in a header ('Composer 2'), a longer one is a value."""
    return "" if re.search(r"\d{3}", cell.text) else field_of(cell.text, known)


def _read(grid: Grid, first: int, last: int, known: Mapping[str, str]) -> Header:
    width = max(len(row) for row in grid.rows[first : last + 1])
    stacks = [_stack(grid, first, last, column) for column in range(width)]
    titles = {column: " ".join(stack) for column, stack in enumerate(stacks)}
    fields: dict[int, str] = {}
    unread: list[str] = []
    second: dict[int, int] = {}
    for column in sorted(range(width), key=lambda column: (column in grid.hidden, column)):
        found = _of_stack(stacks[column], known)
        alike = [
            other
            for other, name in fields.items()
            if name == found
            and (found not in MANY or (column in grid.hidden and words_of(titles[other]) == words_of(titles[column])))
        ]
        if found and found != IGNORED and not alike:
            fields[column] = found
        elif found and found != IGNORED:
            second[column] = alike[0]
        elif titles[column] and found != IGNORED:
            unread.append(titles[column])
    in_order = {column: fields[column] for column in sorted(fields)}
    return Header(first, last, in_order, titles, tuple(unread), second)


def _stack(grid: Grid, first: int, last: int, column: int) -> list[str]:
    """Texts above each other; a group title in an upper row also applies to the columns to its right."""
    texts = []
    for row in range(first, last + 1):
        text = clean(" ".join(grid.cell(row, column).lines))
        below = row < last and any(not grid.cell(r, column).empty for r in range(row + 1, last + 1))
        at = column
        while not text and below and at > 0 and (row == first or grid.cell(first, at).empty):
            at -= 1
            text = clean(" ".join(grid.cell(row, at).lines))
        texts.append(text)
    return [text for text in dict.fromkeys(texts) if text]


def _of_stack(stack: Sequence[str], known: Mapping[str, str]) -> str:
    """The whole stack ('Composer' over 'Name'); else the lowest text that is known ('Composer' over 'IPI')."""
    candidates = (" ".join(stack), *reversed(stack))
    return next((found for text in candidates if text and (found := field_of(text, known))), "")


def no_header(grid: Grid) -> Unusable:
    """The message if no row names the columns."""
    rows = [row for row in grid.rows if any(not cell.empty for cell in row)]
    widest = max(rows, key=lambda row: sum(not cell.empty for cell in row), default=())
    seen = ", ".join(repr(cell.text) for cell in widest if cell.text)[:200] or "nothing"
    return Unusable(
        grid.name,
        f"no row that names the columns (the fullest row has {seen})",
        "a header with the title and one more field",
        "State what a column holds: --column 'Its header=title'. Fields: " + ", ".join(FIELDS) + ".",
    )
