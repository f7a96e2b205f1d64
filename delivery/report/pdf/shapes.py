"""The small shapes before a result's word, all in ink: readable in grey, and from a distance."""

from __future__ import annotations

from typing import Any

from delivery.report.pdf.flow import Flow
from delivery.report.pdf.look import INK
from delivery.report.pdf.type import Style
from delivery.report.view.elements import Verdict

GAP = 4.0


def width(style: Style) -> float:
    """Width of the shape before the word, in points."""
    return style.size * 0.72 + GAP


def shape(flow: Flow, kind: str, style: Style, x: float, baseline: float) -> None:
    """Draw *kind* with its left edge at *x*, on the *baseline*, as high as a capital letter."""
    radius = style.size * 0.36
    at_x, at_y = x + radius, flow.sheet.height - baseline + style.size * 0.35
    flow.mark(lambda canvas: _SHAPES[kind](canvas, at_x, at_y, radius))


def words(verdict: Verdict) -> str:
    """The word of a result and its detail."""
    return str(verdict)


def _ring(canvas: Any, x: float, y: float, radius: float) -> None:
    """Not measured: an empty ring."""
    _pen(canvas, radius)
    canvas.circle(x, y, radius * 0.86, stroke=1, fill=0)


def _full(canvas: Any, x: float, y: float, radius: float) -> None:
    """Ready, met: a full disc."""
    _pen(canvas, radius)
    canvas.circle(x, y, radius, stroke=0, fill=1)


def _half(canvas: Any, x: float, y: float, radius: float) -> None:
    """Remarks, waived: a ring, half full."""
    _ring(canvas, x, y, radius)
    canvas.wedge(x - radius * 0.86, y - radius * 0.86, x + radius * 0.86, y + radius * 0.86, 90, 180, stroke=0, fill=1)


def _cross(canvas: Any, x: float, y: float, radius: float) -> None:
    """Short: a cross."""
    _pen(canvas, radius * 1.5)
    reach = radius * 0.8
    canvas.line(x - reach, y - reach, x + reach, y + reach)
    canvas.line(x - reach, y + reach, x + reach, y - reach)


def _bar(canvas: Any, x: float, y: float, radius: float) -> None:
    """Unusable: a full square with a bar left white."""
    _pen(canvas, radius)
    side = radius * 0.9
    canvas.rect(x - side, y - side, 2 * side, 2 * side, stroke=0, fill=1)
    canvas.setFillColor("#ffffff")
    canvas.rect(x - side * 0.6, y - side * 0.18, side * 1.2, side * 0.36, stroke=0, fill=1)


def _pen(canvas: Any, radius: float) -> None:
    canvas.setStrokeColor(INK)
    canvas.setFillColor(INK)
    canvas.setLineWidth(radius * 0.28)
    canvas.setDash([])


_SHAPES = {"full": _full, "half": _half, "cross": _cross, "ring": _ring, "bar": _bar}
