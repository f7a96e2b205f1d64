"""Layout from top to bottom: marks are placed first and painted afterwards, so every page knows the page count."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from delivery.report.pdf.look import HAIR, HAIRLINE, Sheet
from delivery.report.pdf.type import Line, Setter, Style, ink

Mark = Callable[[Any], None]
"""Paints itself onto a canvas."""
Points = list[tuple[float, float]]


@dataclass
class Page:
    """The marks of one page."""

    marks: list[Mark] = field(default_factory=list)
    bookmarks: list[tuple[str, int]] = field(default_factory=list)
    """Outline entries with their depth."""


def _nothing(_flow: Flow) -> None:
    """For pages that need no head of their own."""


class Flow:
    """A pen that moves down the pages; y counts down from the top of the page."""

    def __init__(self, sheet: Sheet, setter: Setter) -> None:
        self.sheet, self.set = sheet, setter
        self.pages = [Page()]
        self.y = sheet.top
        self.on_new_page: Callable[[Flow], None] = _nothing
        """Called at the head of each page that begins because the last one is full."""

    @property
    def room(self) -> float:
        """Height left on the page, in points."""
        return self.sheet.floor - self.y

    @property
    def fresh(self) -> bool:
        """True if nothing is on the page yet."""
        return self.y <= self.sheet.top

    def new_page(self) -> None:
        """Begin a new page."""
        self.pages.append(Page())
        self.y = self.sheet.top

    def need(self, height: float) -> bool:
        """Start a new page unless *height* is left; returns whether it did."""
        if height <= self.room or self.fresh:
            return False
        self.new_page()
        self.on_new_page(self)
        return True

    def skip(self, height: float) -> None:
        """White space; never at the head of a page."""
        if not self.fresh:
            self.y += height

    def bookmark(self, title: str, depth: int = 0) -> None:
        """Add an entry to the document's outline, at the current position."""
        self.pages[-1].bookmarks.append((title, depth))

    def mark(self, paint: Mark) -> None:
        """Add something to be painted on the page."""
        self.pages[-1].marks.append(paint)

    def put(self, line: Line, x: float, y: float, align: str = "left", width: float = 0.0) -> None:
        """Set a line of type with its baseline at *y*."""
        shift = {"left": 0.0, "right": width - line.width, "centre": (width - line.width) / 2}[align]
        from_bottom = self.sheet.height - y
        self.mark(lambda canvas: line.draw(canvas, x + shift, from_bottom))

    def text(self, text: str, style: Style, x: float, width: float, most: int = 14) -> None:
        """A paragraph at the pen, which moves below it; may run over the page's end."""
        for line in self.set.lines(text, style, width, most):
            self.need(style.leading)
            self.y += style.leading
            self.put(line, x, self.y - style.leading * 0.25)

    def height(self, text: str, style: Style, width: float, most: int = 14) -> float:
        """Height of *text* set within *width*, in points."""
        return len(self.set.lines(text, style, width, most)) * style.leading

    def rule(self, x: float, width: float, weight: float = HAIRLINE, colour: str = HAIR) -> None:
        """A horizontal line at the pen."""
        self.stroke([(x, self.y), (x + width, self.y)], weight, colour)

    def stroke(self, points: Points, weight: float, colour: str, dash: tuple[float, ...] = ()) -> None:
        """A polyline."""

        def paint(canvas: Any) -> None:
            canvas.setStrokeColor(ink(colour))
            canvas.setLineWidth(weight)
            canvas.setDash(list(dash))
            canvas.addLiteral(f"n {self._path(points)} S")

        self.mark(paint)

    def area(self, points: Points, colour: str) -> None:
        """A filled polygon."""

        def paint(canvas: Any) -> None:
            canvas.setFillColor(ink(colour))
            canvas.addLiteral(f"n {self._path(points)} h f")

        self.mark(paint)

    def _path(self, points: Points) -> str:
        """Path operators (ISO 32000-1, 8.5.2) to a hundredth of a point, which is finer than any printer."""
        height = self.sheet.height
        (x, y), *rest = points
        return f"{x:.2f} {height - y:.2f} m " + " ".join([f"{x:.2f} {height - y:.2f} l" for x, y in rest])
