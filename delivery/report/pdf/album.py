"""The album's page: each song compared with the others and the whole, lengths of sides, and irregularities."""

from __future__ import annotations

from functools import partial

from delivery.report.pdf.flow import Flow
from delivery.report.pdf.look import ACCENT, HAIRLINE, HEADING, INK, LABEL, SMALL, SOFT, SUBTITLE, TINT
from delivery.report.pdf.table import Cell, Column, Drawing, rule_above, table
from delivery.report.view.album import AlbumPicture, PartLength
from delivery.report.view.model import View
from delivery.report.view.words import typographic

PAD = 1.4
"""Above and below a row."""
THICK = 3.2
"""Of a bar, in points."""
WHITE = 1.2
"""Between a number and its bar."""
BELOW = THICK + 2 * WHITE
"""Height of a bar with the white around it."""
LENGTH_SHARES = (0.10, 0.25, 0.09, 0.11, 0.11, 0.10, 0.24)


def album_pages(flow: Flow, view: View) -> None:
    """One for each set of tracks that specs receive; empty for a single song."""
    for together in view.together:
        _album_page(flow, view, together)


def _album_page(flow: Flow, view: View, together: AlbumPicture) -> None:
    row = SMALL.leading + BELOW + 2 * PAD
    flow.need(min(flow.sheet.floor - flow.sheet.top, 120 + row * (len(together.rows) + len(together.lengths))))
    flow.bookmark(together.title)
    flow.on_new_page = partial(_continued, view, together)
    rule_above(flow, together.title, HEADING, typographic(together.text))
    _songs(flow, together)
    _lengths(flow, view, together.lengths)
    _notes(flow, view, together)
    flow.on_new_page = _no_head


def _no_head(_flow: Flow) -> None:
    """Pages outside the album begin with their text."""


def _continued(view: View, together: AlbumPicture, flow: Flow) -> None:
    flow.put(flow.set.line(f"{together.title}, {view.words.continued}", LABEL), flow.sheet.left, flow.y)
    flow.y += 14


def _songs(flow: Flow, together: AlbumPicture) -> None:
    columns = [
        Column(head, share, "right" if at in together.figures else "left", SMALL)
        for at, (head, share) in enumerate(zip(together.columns, together.shares, strict=True))
    ]
    rows = [
        tuple(
            _cell(text, bar, figure=at in together.figures)
            for at, (text, bar) in enumerate(zip(row, bars, strict=True))
        )
        for row, bars in zip(together.rows, together.bars, strict=True)
    ]
    table(flow, columns, rows, pad=PAD)


def _cell(text: str, bar: float | None, *, figure: bool) -> Cell:
    below = None if bar is None else Drawing(BELOW, partial(_both_ways, bar))
    return Cell(typographic(text) if figure else text, below=below)


def _both_ways(share: float, flow: Flow, left: float, top: float, width: float) -> None:
    """A bar from the middle: to the right for more, to the left for less."""
    top += WHITE
    middle, half = left + width / 2, width / 2
    flow.stroke([(left, top + THICK / 2), (left + width, top + THICK / 2)], HAIRLINE, SOFT)
    end = middle + share * half
    _bar(flow, min(middle, end), max(middle, end), top, ACCENT)
    flow.stroke([(middle, top - 0.8), (middle, top + THICK + 0.8)], 0.6, INK)


def _bar(flow: Flow, left: float, right: float, top: float, colour: str) -> None:
    flow.area([(left, top), (right, top), (right, top + THICK), (left, top + THICK)], colour)


def _lengths(flow: Flow, view: View, lengths: tuple[PartLength, ...]) -> None:
    if not lengths:
        return
    rule_above(flow, view.words.lengths, SUBTITLE)
    right = view.words.lengths_columns[3:6]
    columns = [
        Column(head, share, "right" if head in right else "left", SMALL)
        for head, share in zip(view.words.lengths_columns, LENGTH_SHARES, strict=True)
    ]
    rows = [
        (
            *(each.name, each.spec, each.tracks, each.length, each.good, each.at_most),
            Cell(each.text, below=None if each.share is None else Drawing(BELOW, partial(_length, each, each.share))),
        )
        for each in lengths
    ]
    table(flow, columns, rows)


def _length(length: PartLength, share: float, flow: Flow, left: float, top: float, width: float) -> None:
    """The length as a bar over the permitted length, with a line at the good length and at the maximum."""
    top += WHITE
    if length.most_share is not None:
        _bar(flow, left, left + width * length.most_share, top, TINT)
    _bar(flow, left, left + width * share, top, ACCENT)
    for limit in (length.good_share, length.most_share):
        if limit is not None:
            x = left + width * limit
            flow.stroke([(x, top - 0.8), (x, top + THICK + 0.8)], 0.8, INK)


def _notes(flow: Flow, view: View, together: AlbumPicture) -> None:
    if together.notes:
        rule_above(flow, view.words.outstanding, SUBTITLE, keep=SMALL.leading)
        for note in together.notes:
            flow.text(note, SMALL, flow.sheet.left, flow.sheet.measure)
            flow.y += 2
    flow.skip(10)
    for text in together.reads:
        flow.text(typographic(text), LABEL, flow.sheet.left, flow.sheet.span(10))
