"""PQ sheets and side sheets as PDF, in the layout of the delivery sheet: one page or more for each disc or side."""

from __future__ import annotations

from dataclasses import replace

from delivery.report.pdf.flow import Flow
from delivery.report.pdf.front import facts
from delivery.report.pdf.look import ACCENT, HEADING, LEAD, SMALL, SOFT, SUBTITLE, TITLE
from delivery.report.pdf.sheet import paged
from delivery.report.pdf.table import Cell, Column, rule_above, table
from delivery.report.pdf.type import Style
from delivery.report.view.album import CarrierPart, CarrierSheet
from delivery.report.view.make import View
from delivery.report.view.words import typographic

CODE = Style(SMALL.size, SMALL.leading, SMALL.weight, SMALL.colour, base=0)


def render(view: View, sheet: CarrierSheet, page: str = "A4") -> bytes:
    """One of the view's sheets, on 'A4' or 'Letter' paper.

    Raises
    ------
    ValueError : no such paper
    Unfinished : the package with the sheet's font is not installed
    """
    titled = replace(view, words=replace(view.words, sheet=sheet.title))
    return paged(titled, page, lambda flow: _draw(flow, titled, sheet))


def _draw(flow: Flow, view: View, sheet: CarrierSheet) -> None:
    for at, part in enumerate(sheet.parts):
        if at and flow.room < 320:
            flow.new_page()
        if at == 0:
            _head(flow, view, sheet)
        _part(flow, sheet, part)
    _notes(flow, sheet)


def _head(flow: Flow, view: View, sheet: CarrierSheet) -> None:
    left, measure = flow.sheet.left, flow.sheet.measure
    flow.bookmark(sheet.title)
    flow.put(flow.set.fitted(view.logo.text, SUBTITLE, flow.sheet.span(8)), left, flow.y + 6)
    flow.put(flow.set.line(sheet.title, SUBTITLE.ink(ACCENT)), left, flow.y + 6, "right", measure)
    flow.y += 26.0
    flow.text(view.title, TITLE, left, measure, 3)
    flow.text(view.artist, LEAD, left, measure, 2)
    flow.y += 10
    facts(flow, sheet.facts, 4)


def _part(flow: Flow, sheet: CarrierSheet, part: CarrierPart) -> None:
    sentence = ", ".join(text for text in (part.pressed, f"total {part.total}") if text)
    rule_above(flow, part.name, HEADING, typographic(sentence), keep=120.0)
    flow.bookmark(part.name, 1)
    facts(flow, part.facts, 4, 3.0)
    flow.y += 4
    columns = [
        Column(head, share, "right" if head in sheet.times else "left", SMALL)
        for head, share in zip(sheet.columns, sheet.shares, strict=True)
    ]
    table(flow, columns, [tuple(Cell(text, CODE if ":" in text else None) for text in row) for row in part.rows])
    flow.y += 3
    for note in part.notes:
        flow.text(typographic(note), SMALL, flow.sheet.left, flow.sheet.measure)
        flow.y += 1
    for more in part.more:
        rule_above(flow, more.title, SUBTITLE, keep=60.0)
        heads = [Column(head, share, style=SMALL) for head, share in zip(more.columns, more.shares, strict=True)]
        table(flow, heads, more.rows)
    flow.skip(10)


def _notes(flow: Flow, sheet: CarrierSheet) -> None:
    flow.skip(10)
    for note in sheet.notes:
        flow.text(typographic(note), SMALL.ink(SOFT), flow.sheet.left, flow.sheet.measure)
