"""A month as a workbook: a sheet by client, and one with every delivery. Numbers are numbers; nothing calculates."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from delivery.report.data.workbook import WIDEST, as_bytes, put_text
from delivery.report.view.month import COLUMNS, DELIVERY_COLUMNS, ClientMonth, MonthView


def render(view: MonthView) -> bytes:
    """The same bytes for the same month."""
    from openpyxl import Workbook

    book = Workbook()
    _fill(book.active, view.title, COLUMNS, [_counts(each) for each in (*view.clients, view.total)])
    deliveries = [
        (client.client, row.day, row.release, row.revision, row.kind, row.songs, row.parts, row.minutes, row.approved)
        for client in view.clients
        for row in client.deliveries
    ]
    _fill(book.create_sheet(), "Deliveries", ("Client", *DELIVERY_COLUMNS), deliveries)
    return as_bytes(book)


def _counts(client: ClientMonth) -> tuple[str | float, ...]:
    return (
        client.client, client.songs, client.parts, client.minutes, client.revisions, client.redeliveries,
        client.open_approvals,
    )  # fmt: skip


def _fill(sheet: Any, title: str, columns: Sequence[str], rows: Sequence[Sequence[str | float]]) -> None:
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    sheet.title = title
    for number, row in enumerate((columns, *rows), start=1):
        for column, value in enumerate(row, start=1):
            if isinstance(value, str):
                put_text(sheet, number, column, value)
            else:
                sheet.cell(number, column).value = value
    for column, head in enumerate(columns, start=1):
        sheet.cell(1, column).font = Font(bold=True)
        longest = max(len(head), *(len(str(row[column - 1])) for row in rows)) if rows else len(head)
        sheet.column_dimensions[get_column_letter(column)].width = min(WIDEST, longest + 3)
    sheet.freeze_panes = "B2"
