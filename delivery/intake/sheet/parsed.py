"""What a reader of cells answers: a value with a remark, or why there is none, or a question. Pure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

Ask = Callable[[str, Sequence[str]], int | None]
"""Question and choices -> number of the chosen one, or None for none of them."""


@dataclass(frozen=True, slots=True)
class Parsed:
    value: Any
    remark: str = ""
    """What was made of the cell, where that is worth saying."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One reading of a cell that has several."""

    text: str
    value: Any


class CellError(Exception):
    """A cell that cannot be used; whoever knows its place makes the fault of it.

    With *choices* a person can decide; where nobody is there to ask, it is a fault like any other.
    """

    def __init__(self, wanted: str, remedy: str, choices: Sequence[Choice] = ()) -> None:
        super().__init__(wanted, remedy, choices)
        self.wanted, self.remedy, self.choices = wanted, remedy, tuple(choices)
