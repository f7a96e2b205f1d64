"""Rows below the header that are not tracks: sums, headings of discs and sides, repeated headers. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from delivery.intake.sheet.above import rights_in
from delivery.intake.sheet.cells import Cell, Grid
from delivery.intake.sheet.header import Header, repeats
from delivery.intake.sheet.positions import heading as side_heading
from delivery.intake.sheet.row_context import RowContext

TOTALS = re.compile(
    r"(?:grand |running )?(?:totals?|total (?:running |playing |album )?(?:time|length|duration)|sum|summe|gesamt"
    r"|gesamt(?:zeit|spielzeit|dauer|laufzeit)|totale|totaal|duree totale|durée totale|duración total|合計)\s*:?.*",
    re.IGNORECASE,
)
SECTION = re.compile(r"(?:cd|disc|disk|disque|disco|lp|vinyl)\s*(?:no\.?\s*)?([1-9][0-9]?)\b.*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Heading:
    """What the rows below it have in common."""

    disc: int | None = None
    side: str = ""

    def then(self, later: Heading) -> Heading:
        """Combine headings: a side heading stays on its disc; a disc heading begins without a side."""
        return Heading(later.disc or self.disc, later.side)


def heading_in(grid: Grid, index: int, columns: Mapping[int, str]) -> Heading | None:
    """'CD 2', 'SIDE A', 'LP 2 - Side C': the only text in its row, or with the length of the side beside it.

    Parameters
    ----------
    columns : column, from 0 -> field id
    """
    filled = [(columns.get(column, ""), cell) for column, cell in enumerate(grid.rows[index]) if not cell.empty]
    texts = {cell.text for name, cell in filled[:1] + [pair for pair in filled[1:] if pair[0] != "duration"]}
    if len(texts) != 1:
        return None
    text = texts.pop()
    if side := side_heading(text):
        return Heading(*side)
    section = SECTION.fullmatch(text) if len(filled) == 1 or len({cell.text for _, cell in filled}) == 1 else None
    return Heading(disc=int(section[1])) if section else None


@dataclass(frozen=True, slots=True)
class Below:
    """The rows of a table, from 0."""

    tracks: Mapping[int, Heading]
    """With the heading that applies to each."""
    others: tuple[int, ...]
    """Neither tracks nor headings."""


def sort_rows(context: RowContext, grid: Grid, header: Header, known: Mapping[str, str]) -> Below:
    """Classify each row; a heading applies to all following rows, in the next table as well."""
    tracks: dict[int, Heading] = {}
    others: list[int] = []
    under = Heading()
    for index in range(min(len(grid.rows), header.until)):
        filled = [cell for cell in grid.rows[index] if not cell.empty]
        if not filled or header.first <= index <= header.last:
            continue
        if heading := heading_in(grid, index, header.fields):
            under = under.then(heading)
            if heading.side:
                context.remark(f"Row {index + 1} is the heading of side {heading.side}.")
        elif index > header.last:
            why = _no_track(grid, header, known, index, filled) or _text_below(grid, header, index, tracks)
            if not why:
                tracks[index] = under
                continue
            others.append(index)
            context.remark(f"Row {index + 1} {why}: left out.")
    return Below(tracks, tuple(others))


def _text_below(grid: Grid, header: Header, index: int, tracks: Mapping[int, Heading]) -> str:
    """Why a lone text in the title column is not a track: it follows a gap, and every track has a number."""
    filled = [column for column, cell in enumerate(grid.rows[index]) if not cell.empty]
    lone = len(filled) == 1 and header.fields.get(filled[0]) == "title"
    number = next((column for column, name in header.fields.items() if name == "number"), None)
    if not (lone and tracks and number is not None) or index - 1 in tracks:
        return ""
    if any(grid.cell(row, number).empty for row in tracks):
        return ""
    return f"is a text below the table ({grid.cell(index, filled[0]).text[:60]!r})"


def _no_track(grid: Grid, header: Header, known: Mapping[str, str], index: int, filled: Sequence[Cell]) -> str:
    """Why a row is not a track; empty if it is."""
    if repeats(grid.rows[index], header, known):
        return "is the header again"
    cells = {name: grid.cell(index, column) for column, name in header.fields.items()}
    numbered = any(character.isdecimal() for character in cells["number"].text) if "number" in cells else False
    coded = "isrc" in cells and not cells["isrc"].empty
    if TOTALS.fullmatch(filled[0].text) and not numbered and not coded:
        return f"is a sum ({filled[0].text!r})"
    if not numbered and not coded and rights_in(filled[0].text):
        return f"is a line of rights ({filled[0].text[:60]!r})"
    if cells["title"].empty and not numbered and not coded:
        return f"has neither title nor number ({filled[0].text[:60]!r})"
    return ""
