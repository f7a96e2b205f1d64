"""Collects the notes and faults of one sheet while its cells are read. Pure."""

from __future__ import annotations

from typing import Any

from delivery.errors import Unusable
from delivery.intake.sheet.cells import Cell, Grid, clean
from delivery.intake.sheet.values import read
from delivery.model.label_copy import COLUMNS

NOT_YET = frozenset(
    ("tbc", "tba", "tbd", "t.b.c.", "t.b.a.", "n/a", "na", "n.a.", "?", "??", "???", "xxx", "to follow", "to come",
     "follows", "folgt", "to be confirmed", "to be announced", "pending", "unknown", "missing", "--", "…", "...")
)  # fmt: skip
FREE = frozenset(
    ("title", "version", "artist", "album", "album_artist", "samples", "explicit", "language", "instrumental")
)
"""Fields in which such words may be meant."""


class Desk:
    """Where remarks and faults are laid down while a sheet is read."""

    def __init__(self, grid: Grid) -> None:
        self.grid = grid
        self.remarks: list[str] = list(grid.remarks)
        self.faults: list[Unusable] = []

    def remark(self, text: str) -> None:
        if text and text not in self.remarks:
            self.remarks.append(text)

    def fault(self, place: str, found: str, wanted: str, remedy: str) -> None:
        self.faults.append(Unusable(f"{self.grid.name} {place}", found, wanted, remedy))

    def value(self, name: str, cell: Cell) -> Any:
        """The value of *cell* as field *name*; None when there is none, which is then said or refused."""
        if name not in FREE and clean(cell.text).casefold() in NOT_YET:
            self.remark(f"{cell.place}: {cell.text!r} counts as not supplied.")
            return None
        told = read(name, cell)
        self.remark(told.remark and f"{told.remark}.")
        if told.refused:
            title = COLUMNS[name].title if name in COLUMNS else name
            self.fault(f"{cell.place} {title}", repr(cell.shown or cell.text), told.refused.wanted, told.refused.remedy)
        return told.value
