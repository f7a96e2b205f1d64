"""Labels and values in the rows above the table. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from delivery.intake.sheet.cells import Cell
from delivery.intake.sheet.columns import field_of
from delivery.intake.sheet.desk import Desk
from delivery.intake.sheet.header import Header

BLOCK = {"title": "album", "artist": "album_artist", "version": "album_version", "language": "release_language",
         "title_language": "release_language"}  # fmt: skip
"""What a label above the table means for the release."""
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


def above_table(desk: Desk, header: Header, known: Mapping[str, str]) -> Iterator[tuple[str, Any]]:
    """'Label: Ostrelune' or 'Label' | 'Ostrelune' in the rows above the table."""
    for row in range(header.first):
        cells = [cell for cell in desk.grid.rows[row] if not cell.empty]
        for at, cell in enumerate(cells):
            head, colon, rest = cell.text.partition(":")
            name = field_of(head if colon else cell.text, known)
            name = BLOCK.get(name, name)
            if not name or name in NEVER_SHARED:
                continue
            value_cell = (
                Cell(cell.place, rest.strip(), rest.strip()) if rest.strip() else next(iter(cells[at + 1 :]), None)
            )
            if value_cell is None or field_of(value_cell.text, known):
                continue
            value = desk.value(name, value_cell)
            if value is not None:
                yield name, value
            break
