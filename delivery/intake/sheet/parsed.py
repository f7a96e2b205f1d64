"""Result of parsing a cell: a value with a remark, why there is none, or a question. Pure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

Ask = Callable[[str, Sequence[str]], int | None]
"""Question and choices -> index of the choice, or None for none of them."""


@dataclass(frozen=True, slots=True)
class Parsed:
    """The value of a cell."""

    value: Any
    remark: str = ""
    """How the cell was read, if worth a remark."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One reading of an ambiguous cell."""

    text: str
    value: Any


class CellError(Exception):
    """Raised by cell parsers; the caller adds the cell's location.

    With *choices* a person can decide; if no questions are possible, it is a fault like any other.
    """

    def __init__(self, wanted: str, remedy: str, choices: Sequence[Choice] = ()) -> None:
        super().__init__(wanted, remedy, choices)
        self.wanted, self.remedy, self.choices = wanted, remedy, tuple(choices)
