"""Collects the notes and faults of one sheet while its cells are read, and asks about ambiguous cells. Pure."""

from __future__ import annotations

from typing import Any

from delivery.errors import Unusable
from delivery.intake.sheet.cells import Cell, Grid
from delivery.intake.sheet.parsed import Ask, CellError
from delivery.intake.sheet.values import read
from delivery.model.fields import FIELDS


class RowContext:
    """Collects remarks and faults while a sheet is read."""

    def __init__(self, grid: Grid, ask: Ask | None = None) -> None:
        self.grid = grid
        self.remarks: list[str] = list(grid.remarks)
        self.faults: list[Unusable] = []
        self.acts: set[str] = set()
        """Names known to be one act, even if they join several."""
        self._ask = ask
        self._known: dict[tuple[str, str, str], Any] = {}
        self._answers: dict[tuple[str, ...], int | None] = {}

    def another(self) -> RowContext:
        """For a part of the sheet that may be left out: the same callback and answers, separate messages."""
        other = RowContext(Grid(self.grid.name, ()), self._ask)
        other.acts, other._answers = self.acts, self._answers
        return other

    def take(self, other: RowContext) -> None:
        """Add the messages of a part that is read after all."""
        for text in other.remarks:
            self.remark(text)
        self.faults += other.faults

    def remark(self, text: str) -> None:
        """Note *text* once; an empty one is ignored."""
        if text and text not in self.remarks:
            self.remarks.append(text)

    def fault(self, place: str, found: str, wanted: str, remedy: str) -> None:
        """Note a fault at *place*, an address such as 'B7'."""
        self.faults.append(Unusable(f"{self.grid.name} {place}", found, wanted, remedy))

    def fault_of(self, name: str, cell: Cell, wanted: str, remedy: str) -> None:
        """A fault of *cell* as field *name*."""
        title = FIELDS[name].title if name in FIELDS else name
        self.fault(f"{cell.place} {title}", repr(cell.shown or cell.text), wanted, remedy)

    def value(self, name: str, cell: Cell) -> Any:
        """The value of *cell* as field *name*; None if there is none, which is then reported, asked or refused.

        A cell that is read again gives the same value and repeats no message.
        """
        key = (name, cell.place, cell.text)
        if key not in self._known:
            self._known[key] = self._value(name, cell)
        return self._known[key]

    def choose(self, name: str, cell: Cell, refused: CellError) -> Any:
        """The reading of *cell* that a person chooses; None if undecided, which is a fault then.

        The same text in the same field is one question.
        """
        choices = [choice.text for choice in refused.choices]
        key = (name, cell.text, *choices)
        if self._ask and choices and key not in self._answers:
            title = FIELDS[name].title if name in FIELDS else name
            question = f"{self.grid.name} {cell.place} {title} is {cell.text!r}. What does it mean?"
            self._answers[key] = self._ask(question, choices)
        answer = self._answers.get(key)
        if answer is not None:
            chosen = refused.choices[answer]
            self.remark(f"{cell.place}: {cell.text!r} is read as answered: {chosen.text}.")
            return chosen.value
        self.fault_of(name, cell, refused.wanted, refused.remedy)
        return None

    def _value(self, name: str, cell: Cell) -> Any:
        outcome = read(name, cell, self.acts)
        self.remark(outcome.remark and f"{outcome.remark}.")
        return self.choose(name, cell, outcome.refused) if outcome.refused else outcome.value
