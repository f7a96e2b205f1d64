"""A month as PDF, to lay beside an invoice: the clients, then each client's deliveries."""

from __future__ import annotations

from delivery.report.pdf.flow import Flow
from delivery.report.pdf.look import ACCENT, BODY, HEADING, SMALL, SOFT, SUBTITLE, TITLE
from delivery.report.pdf.sheet import paged
from delivery.report.pdf.table import Cell, Column, rule_above, table
from delivery.report.pdf.type import Style
from delivery.report.view.month import COLUMNS, DELIVERY_COLUMNS, NUMBERS, ClientMonth, MonthView, row
from delivery.report.view.words import counted, typographic

SHARES = (0.32, 0.09, 0.09, 0.11, 0.12, 0.13, 0.14)
DELIVERY_SHARES = (0.11, 0.35, 0.05, 0.11, 0.07, 0.07, 0.09, 0.15)
STRONG = Style(BODY.size, BODY.leading, "strong")


def render(view: MonthView, page: str = "A4") -> bytes:
    """On 'A4' or 'Letter' paper; the same bytes for the same month.

    Raises
    ------
    ValueError : no such paper
    Unfinished : the package with the sheet's font is not installed
    """
    return paged(view, page, lambda flow: _draw(flow, view))


def _draw(flow: Flow, view: MonthView) -> None:
    left, measure = flow.sheet.left, flow.sheet.measure
    flow.bookmark(view.title)
    if view.studio:
        flow.put(flow.set.fitted(view.studio[0], SUBTITLE, flow.sheet.span(8)), left, flow.y + 6)
    flow.put(flow.set.line(view.words.sheet, SUBTITLE.ink(ACCENT)), left, flow.y + 6, "right", measure)
    flow.y += 26.0
    flow.text(view.title, TITLE, left, measure, 2)
    flow.y += 12
    rows = [(client.client, *client.counts) for client in view.clients]
    total = tuple(Cell(text, STRONG) for text in (view.total.client, *view.total.counts))
    table(flow, _columns(COLUMNS, SHARES, BODY), [*rows, total])
    for client in view.clients:
        _client(flow, client)
    flow.skip(14)
    for note in view.notes:
        flow.text(typographic(note), SMALL.ink(SOFT), left, measure)
        flow.y += 2


def _client(flow: Flow, client: ClientMonth) -> None:
    said = counted(len(client.deliveries), "delivery", "deliveries")
    rule_above(flow, client.client, HEADING, said, keep=60.0)
    flow.bookmark(client.client, 1)
    table(flow, _columns(DELIVERY_COLUMNS, DELIVERY_SHARES, SMALL), [row(each) for each in client.deliveries])


def _columns(heads: tuple[str, ...], shares: tuple[float, ...], style: Style) -> list[Column]:
    return [
        Column(head, share, "right" if head in NUMBERS else "left", style)
        for head, share in zip(heads, shares, strict=True)
    ]
