"""A file becomes grids of cells; the only edge of this room besides workbooks."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from pathlib import Path

from delivery.errors import Unusable
from delivery.intake.sheet.cells import Grid, text_grid
from delivery.intake.sheet.header import find_header

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
    """The sheets of a CSV or XLSX file, by its content and not by its name.

    Raises
    ------
    Unusable : no such file, another kind of file, or one too large to be label copy
    """
    content = _content(path)
    for signature, (found, remedy) in OTHERS.items():
        if content[:8].lower().startswith(signature.lower()):
            raise Unusable(path.name, found, "a CSV or XLSX sheet", remedy)
    if content.startswith(b"PK"):
        from delivery.intake.sheet.read_xlsx import workbook

        return workbook(content, path.name)
    return (csv_grid(content, path.name, known),)


def csv_grid(content: bytes, name: str, known: Mapping[str, str]) -> Grid:
    """Text with any usual delimiter and encoding as a grid.

    Raises
    ------
    Unusable : bytes that are no text, or a quotation mark that is never closed
    """
    text, remarks = decoded(content, name)
    first, _, rest = text.partition("\n")
    named = first.strip().strip('"')
    if named.lower().startswith("sep=") and len(named) == 5:
        delimiter = named[4]
        return text_grid(name, [[], *_parsed(rest, delimiter, name)], remarks)
    grids = [text_grid(name, _parsed(text, delimiter, name), remarks) for delimiter in DELIMITERS]

    def understood(grid: Grid) -> tuple[int, int]:
        header = find_header(grid, known)
        return len(header.fields) if header else 0, sum(len(row) > 1 for row in grid.rows)

    return max(grids, key=understood)


def decoded(content: bytes, name: str) -> tuple[str, tuple[str, ...]]:
    """UTF-8 or UTF-16 by mark, UTF-8 by form, else Windows-1252, which is then said.

    Raises
    ------
    Unusable : bytes that none of these has
    """
    for mark, encoding in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if content.startswith(mark):
            try:
                return content.decode(encoding), ()
            except UnicodeDecodeError as error:
                raise _no_text(name) from error
    if b"\0" in content:
        raise _no_text(name)
    try:
        return content.decode("utf-8"), ()
    except UnicodeDecodeError:
        pass
    try:
        return content.decode("cp1252"), (f"{name} is not UTF-8; it is read as Windows-1252: look at the accents.",)
    except UnicodeDecodeError as error:
        raise _no_text(name) from error


def _no_text(name: str) -> Unusable:
    return Unusable(
        name, "bytes that are no text", "a CSV file in UTF-8, or XLSX", "Save it again as 'CSV UTF-8' or XLSX."
    )


def _parsed(text: str, delimiter: str, name: str) -> list[list[str]]:
    rows: list[list[str]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=delimiter != "\t")
    try:
        for row in reader:
            if any(cell.count("\n") > 50 for cell in row):
                raise csv.Error("a quotation mark that is never closed")
            rows.append(row)
            if len(rows) > MOST_ROWS:
                raise csv.Error(f"more than {MOST_ROWS:,} rows")
    except csv.Error as error:
        raise Unusable(
            f"{name} row {len(rows) + 1}", str(error), "a table of tracks", "Look at that row in a text editor."
        ) from error
    return rows


def _content(path: Path) -> bytes:
    try:
        size_bytes = path.stat().st_size
        if size_bytes > MAX_BYTES:
            raise Unusable(path.name, f"{size_bytes:,} bytes", f"at most {MAX_BYTES:,}", "Is this really label copy?")
        content = path.read_bytes()
    except FileNotFoundError as error:
        raise Unusable(str(path), "no such file", "a CSV or XLSX sheet", "Check the name and the folder.") from error
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise Unusable(str(path), f"no way to read it ({reason})", "a CSV or XLSX sheet", "Check the file.") from error
    if not content.strip():
        raise Unusable(path.name, "an empty file", "a CSV or XLSX sheet", "Copy it again from where it came.")
    return content
