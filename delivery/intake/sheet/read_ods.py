"""OpenDocument sheets as grids, read as a stream of elements so that neither size nor depth can do harm.

Libraries return values only; label copy also needs hidden and merged cells, displayed texts, and a limit on cells
repeated a million times. Source: OpenDocument 1.3 part 3, sections 9 (tables), 19.380 ff. (values of cells).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from xml.parsers import expat

from delivery.errors import Unusable
from delivery.intake.sheet.archive import BROKEN, MOST_CELLS, MOST_COLUMNS, unpacked
from delivery.intake.sheet.cells import Cell, Grid, Value, place_of

_NAMES = {
    "urn:oasis:names:tc:opendocument:xmlns:table:1.0": "table",
    "urn:oasis:names:tc:opendocument:xmlns:text:1.0": "text",
    "urn:oasis:names:tc:opendocument:xmlns:office:1.0": "office",
    "urn:oasis:names:tc:opendocument:xmlns:style:1.0": "style",
    "urn:oasis:names:tc:opendocument:xmlns:drawing:1.0": "draw",
    "urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0": "calcext",
}
DEEPEST = 256
MOST_TEXT = 32_767
"""Maximum characters of one cell, as in spreadsheet programs."""
MOST_ROWS = 20_000
ASIDE = ("office:annotation", "table:shapes", "table:tracked-changes", "table:dde-links", "text:note")
"""Elements with text that is not part of the cell."""
PARAGRAPHS = frozenset(("text:p", "text:h"))
_BLANKS = re.compile(r"[ \t\r\n]+")
"""Blanks that count as one (OpenDocument 1.3 part 3, 6.1.2); further ones, tabs and line breaks are elements."""
_TIME = re.compile(r"-?PT(?:(\d+)H)?(?:(\d+)M)?(?:(\d+(?:[.,]\d+)?)S)?")


class _Refused(Exception):
    """Content that does not occur in label copy."""


def ods_grids(content: bytes, name: str) -> tuple[Grid, ...]:
    """Every visible sheet that is not empty, in order.

    Parameters
    ----------
    content : an archive, or the flat form in one XML file

    Raises
    ------
    Unusable : damaged, or too large for label copy
    """
    reader = _Reader()
    try:
        reader.read(unpacked(content, "content.xml") if content.startswith(b"PK") else content)
    except _Refused as refused:
        raise Unusable(name, str(refused), "a sheet of label copy", "Is this the right file?") from refused
    except (*BROKEN, expat.ExpatError) as error:
        raise Unusable(
            name,
            "an OpenDocument sheet that is damaged",
            "a whole ODS file",
            "Open it in a spreadsheet program and save it again.",
        ) from error
    if not reader.sheets:
        raise Unusable(
            name, "an XML file without a table", "an XLSX, ODS or CSV file", "Save the table as one of these."
        )
    sheets = [sheet for sheet in reader.sheets if sheet.style not in reader.hidden_styles]
    grids = tuple(sheet.grid(name, len(sheets) > 1) for sheet in sheets if sheet.rows)
    if not grids:
        raise Unusable(name, "a workbook without any text", "a sheet of tracks", "Is this the right file?")
    return grids


@dataclass
class _Sheet:
    title: str
    style: str
    rows: list[list[Cell]] = field(default_factory=list)
    """Without empty rows at the end."""
    hidden_rows: list[int] = field(default_factory=list)
    """As the spreadsheet counts."""
    hidden_columns: set[int] = field(default_factory=set)
    merged: list[tuple[int, int, int]] = field(default_factory=list)
    """Row, column and row count of cells merged over several rows."""
    columns: int = 0
    blank_rows: int = 0
    """Empty rows seen, not yet followed by a filled one."""
    cells: int = 0

    def grid(self, name: str, several: bool) -> Grid:
        remarks = list(self._spread())
        if self.hidden_rows:
            remarks.append(f"Hidden rows are read too: {', '.join(map(str, self.hidden_rows))}.")
        named = f"{name}, sheet {self.title}," if several else name
        rows = tuple(map(tuple, self.rows))
        return Grid(named, rows, tuple(remarks), self.title, frozenset(self.hidden_columns))

    def _spread(self) -> Iterator[str]:
        """A cell merged over rows counts for each of them."""
        for top, column, many in self.merged:
            first_cell = self.rows[top][column]
            last = min(top + many, len(self.rows))
            for row in range(top + 1, last):
                cells = self.rows[row]
                cells.extend(Cell(place_of(row, at)) for at in range(len(cells), column + 1))
                cells[column] = Cell(place_of(row, column), first_cell.value, first_cell.shown, first_cell.trouble)
            area = f"{first_cell.place}:{place_of(last - 1, column)}"
            yield f"{first_cell.text!r}, merged over {area}, counts for each of these rows."

    def add(self, cells: list[tuple[int, Cell]], repeated: int, hidden: bool) -> None:
        """Add a row, or several equal ones. Cells with their columns, without empty ones."""
        if not cells:
            self.blank_rows += repeated
            return
        if len(self.rows) + self.blank_rows + repeated > MOST_ROWS:
            raise _Refused(f"more than {MOST_ROWS:,} rows")
        self.rows.extend([] for _ in range(self.blank_rows))
        self.blank_rows = 0
        width = cells[-1][0] + 1
        for _ in range(repeated):
            row = len(self.rows)
            self.cells += width
            if self.cells > MOST_CELLS:
                raise _Refused(f"more than {MOST_CELLS:,} cells")
            line = [Cell(place_of(row, at)) for at in range(width)]
            for column, cell in cells:
                line[column] = Cell(place_of(row, column), cell.value, cell.shown, cell.trouble)
            self.rows.append(line)
            if hidden:
                self.hidden_rows.append(row + 1)


class _Reader:
    """Handles the elements of content.xml; no element is kept, and no entity is expanded."""

    def __init__(self) -> None:
        self.sheets: list[_Sheet] = []
        self.hidden_styles: set[str] = set()
        self._style = ""
        self._open: list[str] = []
        self._aside = 0
        self._tables = 0
        self._row: list[tuple[int, Cell]] = []
        self._row_is: Mapping[str, str] = {}
        self._column = 0
        self._cell: Mapping[str, str] = {}
        self._lines: list[list[str]] = []
        self._length = 0

    def read(self, content: bytes) -> None:
        parser = expat.ParserCreate(namespace_separator=" ")
        parser.StartDoctypeDeclHandler = _refuse_doctype
        parser.StartElementHandler = self._begin
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._text
        parser.buffer_text = True
        parser.Parse(content, True)

    def _begin(self, full: str, attributes: Mapping[str, str]) -> None:
        name = _short(full)
        self._open.append(name)
        if len(self._open) > DEEPEST:
            raise _Refused("elements nested too deeply")
        if name in ASIDE or name.startswith("draw:"):
            self._aside += 1
        if self._aside:
            return
        given = {_short(key): value for key, value in attributes.items()}
        match name:
            case "style:style":
                self._style = given.get("style:name", "")
            case "style:table-properties" if given.get("table:display") == "false":
                self.hidden_styles.add(self._style)
            case "table:table":
                self._tables += 1
                if self._tables == 1:
                    self.sheets.append(_Sheet(given.get("table:name", ""), given.get("table:style-name", "-")))
        if self._tables == 1:
            self._begin_in_table(name, given)

    def _begin_in_table(self, name: str, given: Mapping[str, str]) -> None:
        match name:
            case "table:table-column":
                self._begin_column(given)
            case "table:table-row":
                self._row, self._row_is, self._column = [], given, 0
            case "table:table-cell" | "table:covered-table-cell":
                self._cell, self._lines, self._length = given, [], 0
            case _ if name in PARAGRAPHS:
                self._lines.append([])
            case "text:s" if self._lines:
                self._add(" " * min(_count(given, "text:c"), MOST_TEXT))
            case "text:tab" if self._lines:
                self._add("\t")
            case "text:line-break" if self._lines:
                self._lines.append([])

    def _begin_column(self, given: Mapping[str, str]) -> None:
        sheet = self.sheets[-1]
        last = min(sheet.columns + _count(given, "table:number-columns-repeated"), MOST_COLUMNS)
        if given.get("table:visibility") in ("collapse", "filter"):
            sheet.hidden_columns |= set(range(sheet.columns, last))
        sheet.columns = last

    def _end(self, _full: str) -> None:
        name = self._open.pop()
        if name in ASIDE or name.startswith("draw:"):
            self._aside -= 1
            return
        if self._aside:
            return
        if name == "table:table":
            self._tables -= 1
        if self._tables != 1:
            return
        if name in ("table:table-cell", "table:covered-table-cell"):
            self._end_cell()
        elif name == "table:table-row":
            hidden = self._row_is.get("table:visibility") in ("collapse", "filter")
            self.sheets[-1].add(self._row, _count(self._row_is, "table:number-rows-repeated"), hidden)

    def _end_cell(self) -> None:
        sheet = self.sheets[-1]
        cell = _cell(self._cell, "\n".join("".join(line) for line in self._lines))
        repeated = _count(self._cell, "table:number-columns-repeated")
        if not cell.empty:
            last = min(self._column + repeated, MOST_COLUMNS)
            self._row += [(column, cell) for column in range(self._column, last)]
            many = _count(self._cell, "table:number-rows-spanned")
            if many > 1 and self._column < MOST_COLUMNS:
                sheet.merged.append((len(sheet.rows) + sheet.blank_rows, self._column, min(many, MOST_ROWS)))
        self._column += repeated
        self._lines = []

    def _text(self, text: str) -> None:
        """Text of a paragraph; blanks that indent the XML are outside of it, and a line break inside is a blank."""
        if self._lines and not self._aside and self._tables == 1 and not PARAGRAPHS.isdisjoint(self._open):
            self._add(_BLANKS.sub(" ", text))

    def _add(self, text: str) -> None:
        self._length += len(text)
        if self._length > MOST_TEXT:
            raise _Refused(f"a cell of more than {MOST_TEXT:,} characters")
        self._lines[-1].append(text)


def _refuse_doctype(*_: object) -> None:
    raise _Refused("a document type, which may define entities")


def _short(full: str) -> str:
    """'table:table-row' for a name with its full namespace."""
    space, _, name = full.rpartition(" ")
    return f"{_NAMES.get(space, space)}:{name}"


def _count(given: Mapping[str, str], key: str) -> int:
    text = given.get(key, "1")
    return max(1, int(text)) if text.isdecimal() and len(text) < 9 else 1


def _cell(given: Mapping[str, str], text: str) -> Cell:
    kind = given.get("office:value-type", "")
    if given.get("calcext:value-type") == "error" or (
        given.get("table:formula") and re.match(r"#[A-Z/0]+[!?]?|Err:\d", text)
    ):
        return Cell("", None, text, f"the spreadsheet's error {text}")
    if given.get("table:formula") and not kind and not text:
        return Cell("", None, given["table:formula"][:200], "a formula whose result was not stored")
    if kind in ("float", "currency", "percentage"):
        return _number(float(given["office:value"]), kind, text)
    if kind == "date":
        moment = datetime.fromisoformat(given["office:date-value"][:26])
        midnight = (moment.hour, moment.minute, moment.second) == (0, 0, 0)
        return Cell("", moment, moment.date().isoformat() if midnight else str(moment))
    if kind == "time":
        length = _length(given["office:time-value"])
        return Cell("", length, str(length))
    if kind == "boolean":
        true = given.get("office:boolean-value") == "true"
        return Cell("", true, "TRUE" if true else "FALSE")
    text = text or given.get("office:string-value", "")[:MOST_TEXT]
    return Cell("", text or None, text)


def _number(number: float, kind: str, text: str) -> Cell:
    """Leading zeros as displayed; percent as percent; integers without decimals."""
    if kind == "percentage":
        return Cell("", number, f"{number * 100:.10g}%")
    value: Value = int(number) if number.is_integer() and abs(number) < 1e15 else number
    zeros = re.fullmatch(r"0[0-9]+", text) and isinstance(value, int) and int(text) == value
    return Cell("", value, text if zeros else str(value) if isinstance(value, int) else repr(value))


def _length(text: str) -> time | timedelta:
    """A clock time as text, if it is one."""
    found = _TIME.fullmatch(text)
    if not found:
        raise _Refused(f"the time {text[:30]!r}")
    hours, minutes, seconds = (float((part or "0").replace(",", ".")) for part in found.groups())
    length = timedelta(hours=hours, minutes=minutes, seconds=seconds)
    return length if length >= timedelta(days=1) else (datetime.min + length).time()
