"""Cells and archives of workbooks: texts that stay texts, and the same bytes for the same cells."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import datetime
from typing import Any

TEXT = "@"
WIDEST = 40
LONGEST = 32_767
"""Characters a cell holds (the format's own limit)."""
BIRTHDAY = datetime(1980, 1, 1)
"""Archives and documents must name a time; this is the first one that archives can."""
_NO_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff\ud800-\udfff]")


def put_text(sheet: Any, row: int, column: int, text: str) -> None:
    """As text even where it looks like a formula or a number."""
    cell = sheet.cell(row, column)
    cell.number_format = TEXT
    if text:
        cell.value = _NO_XML.sub("\ufffd", text)[:LONGEST]
        cell.data_type = "s"
        cell.quotePrefix = True


def as_bytes(book: Any) -> bytes:
    """The workbook without the times at which the library writes it."""
    made = io.BytesIO()
    book.save(made)
    return _timeless(made.getvalue())


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
