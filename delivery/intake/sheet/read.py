"""Read a file as grids of cells; the only module of this package that opens files, besides read_xlsx and read_ods."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from delivery.errors import Unusable
from delivery.intake.sheet.archive import is_ods
from delivery.intake.sheet.cells import Grid, place_of, text_grid
from delivery.intake.sheet.encodings import decoded
from delivery.intake.sheet.header import find_header
from delivery.regular import read_regular

MAX_BYTES = 20 * 1024 * 1024
MOST_ROWS = 20_000
DELIMITERS = ",;\t|"
OTHERS = {
    b"\xd0\xcf\x11\xe0": ("an old or a password-protected workbook", "Save it as XLSX without a password, or as CSV."),
    b"%PDF": ("a PDF", "Ask for the spreadsheet it was made from."),
    b"{\\rtf": ("a text document", "Save the table as CSV or XLSX."),
    b"<html": ("a web page", "Open it in a spreadsheet program and save it as XLSX."),
    b"<!DOC": ("a web page", "Open it in a spreadsheet program and save it as XLSX."),
}


def grids_in(path: Path, known: Mapping[str, str]) -> tuple[Grid, ...]:
    """The sheets of a CSV, XLSX or ODS file, detected by content, not by name.

    Raises
    ------
    Unusable : no such file, another kind of file, or one too large to be label copy
    """
    content = _content(path)
    for signature, (found, remedy) in OTHERS.items():
        if content[:8].lower().startswith(signature.lower()):
            raise Unusable(path.name, found, "a CSV, XLSX or ODS sheet", remedy)
    if content.startswith(b"PK") and not is_ods(content, path.name):
        from delivery.intake.sheet.read_xlsx import workbook

        return workbook(content, path.name)
    if content.startswith((b"PK", b"<?xml")):
        from delivery.intake.sheet.read_ods import ods_grids

        return ods_grids(content, path.name)
    return (csv_grid(content, path.name, known),)


def csv_grid(content: bytes, name: str, known: Mapping[str, str]) -> Grid:
    """Text with any usual delimiter and encoding as a grid.

    Raises
    ------
    Unusable : bytes that are not text, or a quotation mark that is not closed
    """
    text, remarks = decoded(content, name)
    first, _, rest = text.partition("\n")
    named = first.strip().strip('"')
    if named.lower().startswith("sep=") and len(named) == 5:
        _refuse_open_quotes(rest, named[4], name, 1)
        return text_grid(name, [[], *_parsed(rest, named[4], name)], remarks)
    grids = {delimiter: text_grid(name, _parsed(text, delimiter, name), remarks) for delimiter in DELIMITERS}

    def understood(delimiter: str) -> tuple[int, int]:
        header = find_header(grids[delimiter], known)
        return len(header.fields) if header else 0, sum(len(row) > 1 for row in grids[delimiter].rows)

    best = max(DELIMITERS, key=understood)
    _refuse_open_quotes(text, best, name, 0)
    return grids[best]


def _refuse_open_quotes(text: str, delimiter: str, name: str, before: int) -> None:
    """Refuse a quotation mark that is never closed, or closed rows later: it merges these rows into one cell.

    Parameters
    ----------
    before : lines before *text*

    Raises
    ------
    Unusable : with the cell in which it was opened
    """
    rows: list[list[str]] = []
    tidy = re.sub(rf'(?<!")" +(?={re.escape(delimiter)}|\r?\n)', '"', text)  # a blank after the mark is harmless
    try:
        rows.extend(_reader(tidy, delimiter, strict=True))
    except csv.Error:
        row = _row_at(text, delimiter, len(rows))
        column = next((at for at, cell in enumerate(row) if "\n" in cell or '"' in cell), len(row) - 1)
        raise _open_quote(name, place_of(len(rows) + before, column), row[column]) from None
    widths = Counter(len(row) for row in rows if len(row) > 1)
    width = widths.most_common(1)[0][0] if widths else 0
    for at, row in enumerate(rows):
        for column, cell in enumerate(row):
            lines = cell.splitlines()
            if len(lines) > 1 and _ate(lines[0], lines[-1], column, len(row), width, delimiter):
                raise _open_quote(name, place_of(at + before, column), cell)


def _ate(head: str, tail: str, column: int, length: int, width: int, delimiter: str) -> bool:
    """True if a cell holds the end of its own row and the start of a later one: both then have all their cells."""
    own = column + 1 + head.count(delimiter)
    later = tail.count(delimiter) + length - column
    return width > 2 and own == width == later and delimiter in head + tail


def _open_quote(name: str, place: str, cell: str) -> Unusable:
    return Unusable(
        f"{name} {place}",
        f"a quotation mark that is not closed, or is inside the cell ({cell.splitlines()[0][:40]!r} ...)"
        if cell.strip()
        else "a quotation mark that is not closed",
        "quotation marks in pairs around a cell, and doubled inside it",
        "Rows below may be missing: correct it in a text editor, or save the sheet as XLSX.",
    )


def _row_at(text: str, delimiter: str, index: int) -> list[str]:
    """That row as read by a lenient parser."""
    return next((row for at, row in enumerate(_reader(text, delimiter, strict=False)) if at == index), [""]) or [""]


def _reader(text: str, delimiter: str, *, strict: bool) -> Any:
    return csv.reader(
        io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=delimiter != "\t", strict=strict
    )


def _parsed(text: str, delimiter: str, name: str) -> list[list[str]]:
    rows: list[list[str]] = []
    try:
        for row in _reader(text, delimiter, strict=False):
            rows.append(row)
            if len(rows) > MOST_ROWS:
                raise csv.Error(f"more than {MOST_ROWS:,} rows")
    except csv.Error as error:
        raise Unusable(
            f"{name} row {len(rows) + 1}", str(error), "a table of tracks", "Check that row in a text editor."
        ) from error
    return rows


def _content(path: Path) -> bytes:
    try:
        content = read_regular(path, MAX_BYTES)
        if len(content) > MAX_BYTES:
            found = f"more than {MAX_BYTES:,} bytes"
            raise Unusable(path.name, found, f"at most {MAX_BYTES:,}", "Is this really label copy?")
    except FileNotFoundError as error:
        raise Unusable(
            str(path), "no such file", "a CSV, XLSX or ODS sheet", "Check the name and the folder."
        ) from error
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise Unusable(
            str(path), f"no way to read it ({reason})", "a CSV, XLSX or ODS sheet", "Check the file."
        ) from error
    if not content.strip():
        raise Unusable(path.name, "an empty file", "a CSV, XLSX or ODS sheet", "Copy it again from where it came.")
    return content
