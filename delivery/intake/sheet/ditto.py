"""Cells that repeat the cell above. Pure."""

from __future__ import annotations

from delivery.intake.sheet.cells import Cell
from delivery.intake.sheet.desk import Desk
from delivery.intake.sheet.header import Header

DITTO = frozenset(
    ('"', "''", "“", "”", "″", "〃", "ditto", "dto.", "dto", "s.o.", "same", "same as above", "idem", "id.")
)


def not_ditto(desk: Desk, header: Header, index: int, column: int) -> Cell:
    """A ditto mark means the cell above."""
    cell = desk.grid.cell(index, column)
    at = index
    while desk.grid.cell(at, column).text.casefold() in DITTO and at > header.last + 1:
        at -= 1
    if at != index:
        above = desk.grid.cell(at, column)
        desk.remark(f"{cell.place}: {cell.text!r} repeats {above.place}.")
        return Cell(cell.place, above.value, above.shown)
    return cell
