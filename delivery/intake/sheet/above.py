"""Labels and values outside the table: above it, and below it without being a track. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from delivery.intake.sheet.cells import Cell, Grid
from delivery.intake.sheet.columns import field_of
from delivery.intake.sheet.parsed import CellError
from delivery.intake.sheet.row_context import RowContext
from delivery.intake.sheet.times import read_date

BLOCK = {"title": "album", "artist": "album_artist", "version": "album_version", "language": "release_language",
         "title_language": "release_language"}  # fmt: skip
"""Meaning of a label above the table for the release."""
NEVER_SHARED = frozenset(
    (
        "number",
        "disc",
        "side",
        "isrc",
        "iswc",
        "duration",
        "file",
        "gap_before",
        "preview_start",
        "ipi",
        "isni",
        "share",
    )
)
RIGHTS = {"℗": "p_line", "ⓟ": "p_line", "(p)": "p_line", "©": "c_line", "ⓒ": "c_line", "(c)": "c_line"}
_SIGNS = re.compile(r"(℗|ⓟ|\(p\)|©|ⓒ|\(c\))", re.IGNORECASE)
_YEAR = re.compile(r"(?:19|20)\d\d\b")
_DATE_LIKE = re.compile(r"\d{1,4}\s?[./\-]\s?\d{1,2}\s?[./\-]\s?\d{1,4}")
_WITHOUT_COLON = {"upc": re.compile(r"[\d\s\-]{11,20}"), "catalogue_number": re.compile(r"(?=\S*\d)[^\s:]+(?:\s\d+)?")}
"""Values that cannot be part of their label: 'EAN 2000000140018', 'Cat. no. OSL-014'."""


def outside_table(
    context: RowContext, grid: Grid, rows: Iterable[int], known: Mapping[str, str], *, of_release: bool = False
) -> dict[str, Any]:
    """Field -> value, of the labelled values in *rows* of *grid*; two that contradict each other become a fault.

    Parameters
    ----------
    rows : from 0
    of_release : only values that must belong to the release: lines of rights, codes, dates with a label
    """
    found: dict[str, Any] = {}
    places: dict[str, Cell] = {}
    for name, cell in _labelled(context, grid, tuple(rows), known):
        if of_release and name not in ("p_line", "c_line", "upc", "catalogue_number", "release_date", "label"):
            continue
        value = context.value(name, cell)
        if value is None:
            continue
        if found.setdefault(name, value) != value:
            remedy = f"{places[name].place} has {places[name].text!r}: correct one of them."
            context.fault_of(name, cell, "one value for the release", remedy)
        places.setdefault(name, cell)
    return found


def rights_in(text: str) -> dict[str, str]:
    """'℗ & © 2027 Ostrelune' -> both lines; '℗ 2027 A / © 2027 B' -> one each; empty for other texts."""
    pieces = _SIGNS.split(text)
    if pieces[0].strip() and not pieces[0].rstrip().endswith(":"):
        return {}
    lines: dict[str, str] = {}
    waiting: list[str] = []
    for sign, after in zip(pieces[1::2], pieces[2::2], strict=True):
        waiting.append(RIGHTS[sign.casefold()])
        line = after.strip(" /,;|&+:-–")
        if _YEAR.match(line):
            lines |= dict.fromkeys(waiting, line)
            waiting = []
    return lines


def _labelled(
    context: RowContext, grid: Grid, rows: Sequence[int], known: Mapping[str, str]
) -> Iterator[tuple[str, Cell]]:
    """'Label: Ostrelune'; 'Label' | 'Ostrelune' | 'UPC' | '...'; labels in one row and values below; '℗ 2027 ...'."""
    taken: set[int] = set()
    for row in rows:
        if row in taken:
            continue
        cells = [cell for cell in grid.rows[row] if not cell.empty]
        if row + 1 in rows and (pairs := _over_each_other(grid, row, known)):
            taken.add(row + 1)
            yield from pairs
            continue
        while cells:
            cell = cells.pop(0)
            if lines := rights_in(cell.text):
                yield from ((name, Cell(cell.place, line, line)) for name, line in lines.items())
                continue
            name, value = _in_one_cell(cell, known)
            if not value and name and cells and not _label(cells[0].text, known):
                value = cells.pop(0)
            if name and value:
                name = column_of(name, value)
                if name not in NEVER_SHARED:
                    yield name, value
            elif value:
                context.remark(f"{cell.place}: {cell.text!r} is not read; {_head(cell)!r} is not a known label.")


def column_of(name: str, value: Cell) -> str:
    """Resolve an ambiguous label: a date is not a title, so 'Release: 2026-11-27' is the release date."""
    return "release_date" if name == "album" and is_date(value) else name


def is_date(cell: Cell) -> bool:
    """True if the cell can be read as a date."""
    if isinstance(cell.value, date) or _DATE_LIKE.fullmatch(cell.text):
        return True
    try:
        read_date(cell)
    except CellError:
        return False
    return True


def _over_each_other(grid: Grid, row: int, known: Mapping[str, str]) -> list[tuple[str, Cell]]:
    """Labels in *row* with their values in the next one; empty if these rows are something else."""
    labels = {at: name for at, cell in enumerate(grid.rows[row]) if (name := _label(cell.text, known))}
    filled = sum(not cell.empty for cell in grid.rows[row])
    values = {at: grid.cell(row + 1, at) for at in labels}
    if len(labels) < 2 or len(labels) < filled or any(_label(cell.text, known) for cell in values.values()):
        return []
    if any(cell.text.endswith(":") for cell in values.values()):
        return []
    pairs = [(column_of(name, values[at]), values[at]) for at, name in labels.items() if not values[at].empty]
    return [(name, cell) for name, cell in pairs if name not in NEVER_SHARED]


def _in_one_cell(cell: Cell, known: Mapping[str, str]) -> tuple[str, Cell | None]:
    """Field and value of 'Label: Ostrelune'; no value for a label alone, no field for an unknown label."""
    head, colon, rest = cell.text.partition(":")
    if colon:
        value = Cell(cell.place, rest.strip(), rest.strip()) if rest.strip() else None
        return _label(head, known), value
    if name := _label(cell.text, known):
        return name, None
    words = cell.text.split()
    for at in range(len(words) - 1, 0, -1):
        name, text = _label(" ".join(words[:at]), known), " ".join(words[at:])
        rest_cell = Cell(cell.place, text, text)
        if name in ("album", "release_date", "original_date") and is_date(rest_cell):
            return name, rest_cell
        if name in _WITHOUT_COLON and _WITHOUT_COLON[name].fullmatch(text):
            return name, rest_cell
    return "", None


def _label(text: str, known: Mapping[str, str]) -> str:
    name = "" if re.search(r"\d\d", text) else field_of(text.rstrip(" :"), known)
    return BLOCK.get(name, name)


def _head(cell: Cell) -> str:
    return cell.text.partition(":")[0]
