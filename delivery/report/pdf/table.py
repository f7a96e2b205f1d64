"""Tables that wrap, turn pages between rows and repeat their heads."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from delivery.report.pdf import shapes
from delivery.report.pdf.flow import Flow
from delivery.report.pdf.look import BODY, HAIR, HAIRLINE, LABEL, RULE, SOFT
from delivery.report.pdf.type import Line, Style
from delivery.report.view.elements import Verdict

PAD = 2.8
"""Above and below the lines of a row."""


@dataclass(frozen=True)
class Column:
    """A column: its heading, width and alignment."""

    head: str
    share: float
    """Of the table's width; shares add up to 1."""
    align: str = "left"
    style: Style = BODY


@dataclass(frozen=True)
class Drawing:
    """A small drawing under a cell's text."""

    height: float
    draw: Callable[[Flow, float, float, float], None]
    """Given the flow, its left edge, its top and its width."""


@dataclass(frozen=True)
class Cell:
    """A cell: its text, and what spans or follows it."""

    text: str
    style: Style | None = None
    """Other than the column's."""
    shape: str = ""
    span: int = 1
    """Columns it may use; those it covers hold empty text."""
    below: Drawing | None = None
    most: int = 14
    """Lines; what does not fit ends in an ellipsis."""


Row = Sequence["str | Cell | Verdict"]


def table(
    flow: Flow,
    columns: Sequence[Column],
    rows: Sequence[Row],
    *,
    x: float | None = None,
    width: float | None = None,
    pad: float = PAD,
) -> None:
    """Set *rows* at the pen and leave the pen below the last of them."""
    made = _Table(flow, columns, flow.sheet.left if x is None else x, width or flow.sheet.measure, pad)
    made.set(rows)


class _Table:
    def __init__(self, flow: Flow, columns: Sequence[Column], x: float, width: float, pad: float) -> None:
        self._pad = pad
        self._flow, self._columns = flow, columns
        self._x, self._width = x, width
        self._gap = 8.0

    def set(self, rows: Sequence[Row]) -> None:
        prepared = [self._prepared(row) for row in rows]
        first = max((self._height(cells) for cells in prepared[:1]), default=0.0)
        self._flow.need(self._head_height() + first)
        self._head()
        for at, cells in enumerate(prepared):
            if self._flow.need(self._height(cells)):
                self._head()
            self._row(cells, last=at == len(prepared) - 1)

    def _span(self, at: int, columns: int = 1) -> tuple[float, float]:
        """Left edge and width of a cell."""
        left = self._x + self._width * sum(column.share for column in self._columns[:at])
        share = sum(column.share for column in self._columns[at : at + columns])
        return left, self._width * share - (self._gap if at + columns < len(self._columns) else 0.0)

    def _heads(self) -> list[list[Line]]:
        return [self._flow.set.lines(column.head, LABEL, self._span(at)[1]) for at, column in enumerate(self._columns)]

    def _head_height(self) -> float:
        """0 for a table whose columns have no heads."""
        if not any(column.head for column in self._columns):
            return 0.0
        return max((len(lines) for lines in self._heads()), default=1) * LABEL.leading + self._pad

    def _head(self) -> None:
        if not self._head_height():
            return
        flow, heads = self._flow, self._heads()
        tallest = max(len(lines) for lines in heads)
        for at, lines in enumerate(heads):
            left, width = self._span(at)
            for row, line in enumerate(lines):
                baseline = flow.y + (tallest - len(lines) + row + 1) * LABEL.leading - 2.2
                flow.put(line, left, baseline, self._columns[at].align, width)
        flow.y += tallest * LABEL.leading + PAD * 0.6
        flow.rule(self._x, self._width, HAIRLINE, SOFT)

    def _prepared(self, row: Row) -> list[tuple[Cell, Style, list[Line]]]:
        cells = []
        for at, raw in enumerate(row):
            cell = _cell(raw)
            style = cell.style or self._columns[at].style
            room = self._span(at, cell.span)[1] - (shapes.width(style) if cell.shape else 0.0)
            cells.append((cell, style, self._flow.set.lines(cell.text, style, room, cell.most)))
        return cells

    def _height(self, cells: list[tuple[Cell, Style, list[Line]]]) -> float:
        heights = (
            len(lines) * style.leading + (cell.below.height if cell.below else 0) for cell, style, lines in cells
        )
        return max(heights, default=0.0) + 2 * self._pad

    @staticmethod
    def _ascent(cells: list[tuple[Cell, Style, list[Line]]]) -> float:
        """From the top of a row's type to the baseline that its cells share."""
        return max(style.leading for _, style, _ in cells) * 0.75

    def _row(self, cells: list[tuple[Cell, Style, list[Line]]], *, last: bool) -> None:
        flow = self._flow
        top = flow.y + self._pad
        for at, (cell, style, lines) in enumerate(cells):
            left, width = self._span(at, cell.span)
            shift = shapes.width(style) if cell.shape else 0.0
            for row, line in enumerate(lines):
                baseline = top + self._ascent(cells) + row * style.leading
                flow.put(line, left + shift, baseline, self._columns[at].align, width - shift)
            if cell.shape:
                shapes.shape(flow, cell.shape, style, left, top + self._ascent(cells))
            if cell.below:
                cell.below.draw(flow, left, top + len(lines) * style.leading, width)
        flow.y += self._height(cells)
        flow.rule(self._x, self._width, HAIRLINE, SOFT if last else HAIR)


def _cell(raw: str | Cell | Verdict) -> Cell:
    if isinstance(raw, Verdict):
        return Cell(str(raw), shape=raw.shape)
    return raw if isinstance(raw, Cell) else Cell(raw)


def rule_above(
    flow: Flow, heading: str, style: Style, note: str = "", *, keep: float = 60.0, above: float = 16.0
) -> None:
    """A section's heading under a firm rule, with a quiet note at its right; stays with what follows."""
    flow.skip(above)
    flow.need(style.leading + keep)
    flow.rule(flow.sheet.left, flow.sheet.measure, RULE, "#16181a")
    flow.y += 5.0 + style.leading * 0.75
    title = flow.set.line(heading, style)
    flow.put(title, flow.sheet.left, flow.y)
    room = flow.sheet.measure - title.width - 16.0
    if note and room > 40:
        flow.put(flow.set.fitted(note, LABEL, room), flow.sheet.left, flow.y, "right", flow.sheet.measure)
    flow.y += style.leading * 0.25 + 4.0
