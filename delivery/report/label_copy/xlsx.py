"""Label copy as a workbook in which every cell is text: no code loses a zero, no formulas, no time stamps."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from delivery.report.view.label_copy import LabelCopy, label_copy
from delivery.report.view.model import View
from delivery.report.view.report import Report

TEXT = "@"
WIDEST = 40
LONGEST = 32_767
"""Characters a cell holds (the format's own limit)."""
BIRTHDAY = datetime(1980, 1, 1)
"""Archives and documents must name a time; this is the first one that archives can."""
_NO_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff\ud800-\udfff]")


def render(view: View) -> bytes:
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
    made = io.BytesIO()
    book.save(made)
    return _timeless(made.getvalue())


def _fill(sheet: Any, copy: LabelCopy, spare_rows: int) -> None:
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    sheet.title = "Label copy"
    head = len(copy.release) + 2
    rows = [*copy.release, (), copy.columns, *copy.rows, *([("",) * len(copy.columns)] * spare_rows)]
    for number, row in enumerate(rows, start=1):
        for column, text in enumerate(row, start=1):
            _put(sheet, number, column, text)
    for cell in (
        *(sheet.cell(row, 1) for row in range(1, head - 1)),
        *(sheet.cell(head, c + 1) for c in range(len(copy.columns))),
    ):
        cell.font = Font(bold=True)
    sheet.freeze_panes = sheet.cell(head + 1, 1)
    for column, title in enumerate(copy.columns):
        longest = max([len(title), *(len(row[column]) for row in copy.rows)])
        sheet.column_dimensions[get_column_letter(column + 1)].width = min(WIDEST, longest + 3)


def _put(sheet: Any, row: int, column: int, text: str) -> None:
    """As text even where it looks like a formula or a number."""
    cell = sheet.cell(row, column)
    cell.number_format = TEXT
    if text:
        cell.value = _NO_XML.sub("\ufffd", text)[:LONGEST]
        cell.data_type = "s"
        cell.quotePrefix = True


def _explain(sheet: Any, help: Sequence[tuple[str, str]]) -> None:
    for number, (title, sentence) in enumerate(help, start=1):
        _put(sheet, number, 1, title)
        _put(sheet, number, 2, sentence)
    sheet.column_dimensions["A"].width = 24
    sheet.column_dimensions["B"].width = 90


def _timeless(content: bytes) -> bytes:
    """The same archive without the times at which the library wrote it."""
    into = io.BytesIO()
    stamp = BIRTHDAY.strftime("%Y-%m-%dT%H:%M:%SZ").encode()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED) as new:
        for item in sorted(old.infolist(), key=lambda item: (item.filename != "[Content_Types].xml", item.filename)):
            body = old.read(item)
            if item.filename == "docProps/core.xml":
                body = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", stamp, body)
            info = zipfile.ZipInfo(item.filename, BIRTHDAY.timetuple()[:6])
            info.compress_type = zipfile.ZIP_DEFLATED
            info.create_system = 0
            new.writestr(info, body)
    return into.getvalue()


REPORT = Report(
    "label_copy_xlsx",
    "label-copy.xlsx",
    "a workbook, every cell text; reads back as the same release",
    render,
    on_request=True,
)
