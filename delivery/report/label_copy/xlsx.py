"""Label copy as a workbook in which every cell is text: no code loses a zero, no formulas, no time stamps."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from delivery.report.data.workbook import WIDEST, as_bytes, put_text
from delivery.report.view.label_copy import LabelCopy, label_copy
from delivery.report.view.model import View
from delivery.report.view.report import Report


def render(view: View) -> bytes:
    """Label copy as a workbook."""
    return as_workbook(label_copy(view))


def as_workbook(copy: LabelCopy, help: Sequence[tuple[str, str]] = (), spare_rows: int = 0) -> bytes:
    """The same bytes for the same cells.

    Parameters
    ----------
    help : field and explanation, for a second sheet; none: no such sheet
    spare_rows : empty rows below, formatted as text, to be filled in
    """
    from openpyxl import Workbook

    book = Workbook()
    _fill(book.active, copy, spare_rows)
    if help:
        _explain(book.create_sheet("How to fill it in"), help)
    return as_bytes(book)


def _fill(sheet: Any, copy: LabelCopy, spare_rows: int) -> None:
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    sheet.title = "Label copy"
    head = len(copy.release) + 2
    rows = [*copy.release, (), copy.columns, *copy.rows, *([("",) * len(copy.columns)] * spare_rows)]
    for number, row in enumerate(rows, start=1):
        for column, text in enumerate(row, start=1):
            put_text(sheet, number, column, text)
    for cell in (
        *(sheet.cell(row, 1) for row in range(1, head - 1)),
        *(sheet.cell(head, c + 1) for c in range(len(copy.columns))),
    ):
        cell.font = Font(bold=True)
    sheet.freeze_panes = sheet.cell(head + 1, 1)
    for column, title in enumerate(copy.columns):
        longest = max([len(title), *(len(row[column]) for row in copy.rows)])
        sheet.column_dimensions[get_column_letter(column + 1)].width = min(WIDEST, longest + 3)


def _explain(sheet: Any, help: Sequence[tuple[str, str]]) -> None:
    for number, (title, sentence) in enumerate(help, start=1):
        put_text(sheet, number, 1, title)
        put_text(sheet, number, 2, sentence)
    sheet.column_dimensions["A"].width = 24
    sheet.column_dimensions["B"].width = 90


REPORT = Report(
    "label_copy_xlsx",
    "label-copy.xlsx",
    "a workbook, every cell text; reads back as the same release",
    render,
    on_request=True,
)
