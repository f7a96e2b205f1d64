"""Limits on figures, and rounding that respects them: a printed figure never contradicts its verdict. Pure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

FINEST_DIGITS = 9


@dataclass(frozen=True, slots=True)
class Bound:
    """An inclusive limit on one figure, from above or from below."""

    figure: str
    at: float
    from_above: bool

    def holds(self, value: float) -> bool:
        """True if *value* meets the bound."""
        return value <= self.at if self.from_above else value >= self.at


def rounded(value: float, digits: int, bounds: Iterable[Bound] = ()) -> str:
    """*value* to *digits* decimals, or more if needed to keep it on its side of every bound."""
    known = tuple(bounds)
    for finer in range(digits, FINEST_DIGITS + 1):
        text = f"{value:z.{finer}f}"
        if all(bound.holds(float(text)) == bound.holds(value) for bound in known):
            return text
    return repr(value)
