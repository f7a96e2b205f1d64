"""Rows below the header that are not tracks: sums, headings of discs and sides, the header again. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from delivery.intake.sheet.cells import Cell
from delivery.intake.sheet.desk import Desk
from delivery.intake.sheet.header import Header, repeats

TOTALS = re.compile(
    r"(?:grand |running )?(?:totals?|total (?:running |playing |album )?(?:time|length|duration)|sum|summe|gesamt"
    r"|gesamt(?:zeit|spielzeit|dauer|laufzeit)|totale|totaal|duree totale|durée totale|duración total|合計)\s*:?.*",
    re.IGNORECASE,
)
SECTION = re.compile(r"(?:cd|disc|disk|disque|disco|lp|vinyl)\s*(?:no\.?\s*)?([1-9][0-9]?)\b.*", re.IGNORECASE)
SIDE = re.compile(r"(?:side|seite|face|lado|lato)\s+[A-Z]\b.*", re.IGNORECASE)


def no_track(desk: Desk, header: Header, known: Mapping[str, str], index: int, filled: Sequence[Cell]) -> str:
    """Why a row is no track; empty when it is one."""
    if repeats(desk.grid.rows[index], header, known):
        return "is the header again"
    cells = {name: desk.grid.cell(index, column) for column, name in header.fields.items()}
    numbered = any(character.isdecimal() for character in cells["number"].text) if "number" in cells else False
    coded = "isrc" in cells and not cells["isrc"].empty
    if TOTALS.fullmatch(filled[0].text) and not numbered and not coded:
        return f"is a sum ({filled[0].text!r})"
    if SIDE.fullmatch(filled[0].text) and len(filled) == 1:
        return f"is a heading ({filled[0].text!r})"
    if cells["title"].empty and not numbered and not coded:
        return f"has neither title nor number ({filled[0].text[:60]!r})"
    return ""
