"""Layout of the sheet: pages, grid, type sizes, colours. All of these are defined here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from delivery.report.pdf.type import Style

PAPERS: Mapping[str, tuple[float, float]] = {"A4": (595.2756, 841.8898), "Letter": (612.0, 792.0)}

INK = "#16181a"
SOFT = "#5a6065"
"""Secondary words: 6.5 to 1 against white."""
HAIR = "#c4c9cc"
ACCENT = "#1d5a66"
"""The one colour: a dark petrol that prints as dark grey."""
TINT = "#d5e1e3"
"""The accent, thinned, for areas."""
WINDOW = "#b9ced2"
"""A shade deeper: the window a figure has to lie in, which may be a thin band."""

BODY = Style(8.4, 11.4)
SMALL = Style(7.2, 9.8)
LABEL = Style(6.7, 9.0, colour=SOFT)
FINE = Style(6.2, 8.0, colour=SOFT)
"""Small print, for text that is not needed to understand the rest."""
LEAD = Style(10.5, 14.0)
HEADING = Style(11.0, 14.0, "strong")
SUBTITLE = Style(9.4, 12.6, "strong")
TRACK_TITLE = Style(17.0, 21.0, "strong")
TITLE = Style(26.0, 30.0, "strong")

HAIRLINE, RULE = 0.35, 0.8
COLUMNS, GUTTER = 12, 10.0


@dataclass(frozen=True)
class Sheet:
    """One page size with its margins, in points; y counts down from the top."""

    width: float
    height: float
    left: float = 51.0
    right: float = 51.0
    top: float = 66.0
    bottom: float = 50.0
    head: float = 36.0
    """Baseline of the running head."""

    @property
    def measure(self) -> float:
        """Width of the text area."""
        return self.width - self.left - self.right

    @property
    def floor(self) -> float:
        """Lowest position of text, in points from the top."""
        return self.height - self.bottom

    def x(self, column: float) -> float:
        """Left edge of a grid column, counting from 0."""
        return self.left + column * (self.measure + GUTTER) / COLUMNS

    def span(self, columns: float) -> float:
        """Width of that many columns with the gutters between them."""
        return columns * (self.measure + GUTTER) / COLUMNS - GUTTER


def sheet(page: str) -> Sheet:
    """The sheet for 'A4' or 'Letter'.

    Raises
    ------
    ValueError : any other name
    """
    if page not in PAPERS:
        raise ValueError(f"page {page!r}: one of {', '.join(PAPERS)}")
    return Sheet(*PAPERS[page])
