"""What a reader of cells answers: a value with a remark, or why there is none. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Told:
    value: Any
    remark: str = ""
    """What was made of the cell, where that is worth saying."""


class Refused(Exception):
    """A cell that cannot be used; whoever knows its place makes the fault of it."""

    def __init__(self, wanted: str, remedy: str) -> None:
        super().__init__(wanted, remedy)
        self.wanted, self.remedy = wanted, remedy
