"""Rows of the table of goals, and how their times are taken."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from dataclasses import dataclass

from tests.benchmarks import album, convert


@dataclass(frozen=True)
class Race:
    """A goal against another program; the seconds of each side."""

    work: str
    against: str
    ours_s: float
    theirs_s: float
    goal: float

    @property
    def ratio(self) -> float:
        return self.ours_s / self.theirs_s

    def __str__(self) -> str:
        state = "met" if self.ratio <= self.goal else "not met"
        times = f"{self.ours_s:8.2f} s{self.theirs_s:8.2f} s"
        return f"{self.work:54}{times}{self.ratio:7.2f}{self.goal:8.2f}  {state:8} {self.against}"

    @property
    def cells(self) -> tuple[str, ...]:
        """As in the guide."""
        return self.work, self.against, f"{self.ratio:.2f}", f"{self.goal:.2f}"


@dataclass(frozen=True)
class Limit:
    """A goal that is a number of its own."""

    work: str
    found: float
    unit: str
    goal: float
    at_least: bool = False

    def __str__(self) -> str:
        is_met = self.found >= self.goal if self.at_least else self.found <= self.goal
        state = "met" if is_met else "not met"
        return f"{self.work:54}{self.found:8.2f} {self.unit:4}{self.goal:22.2f}  {state}"

    @property
    def cells(self) -> tuple[str, ...]:
        """As in the guide."""
        digits = 0 if self.found >= 100 else 2
        bound = "at least" if self.at_least else "at most"
        return self.work, f"{self.found:.{digits}f} {self.unit}".rstrip(), f"{bound} {self.goal:g} {self.unit}".rstrip()


Row = Race | Limit


def best(turns: int, *sides: Callable[[], object]) -> list[float]:
    """Least processor time of each side, children included; they alternate."""
    times = [[convert.spent(side) for side in sides] for _ in range(turns)]
    return [min(column) for column in zip(*times, strict=True)]


def command(*words: str) -> Callable[[], object]:
    """A command of the program as it is installed."""
    return lambda: subprocess.run(words, env=album.AS_INSTALLED, check=True, capture_output=True)
