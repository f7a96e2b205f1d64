"""OpenDocument sheets for tests, written by odfpy: another program than the one that reads them."""

from __future__ import annotations

import io
from datetime import date, time
from typing import Any

from odf.opendocument import OpenDocumentSpreadsheet
from odf.style import Style, TableProperties
from odf.table import CoveredTableCell, Table, TableCell, TableColumn, TableRow
from odf.text import P


def ods(
    *sheets: tuple[tuple[Any, ...], ...], hidden_columns: tuple[int, ...] = (), hidden_sheets: tuple[int, ...] = ()
) -> bytes:
    """A document of *sheets*; a cell may be made with `cell` where a plain value is not enough."""
    document = OpenDocumentSpreadsheet()
    off = Style(name="off", family="table")
    off.addElement(TableProperties(display="false"))
    document.automaticstyles.addElement(off)
    for number, rows in enumerate(sheets, start=1):
        style = {"stylename": off} if number - 1 in hidden_sheets else {}
        table = Table(name=f"Sheet{number}", **style)
        for column in range(max(map(len, rows), default=1)):
            table.addElement(TableColumn(**({"visibility": "collapse"} if column in hidden_columns else {})))
        for values in rows:
            row = TableRow()
            for value in values:
                row.addElement(
                    value
                    if isinstance(value, type(TableCell())) or value.__class__.__name__ == "Element"
                    else cell(value)
                )
            table.addElement(row)
        document.spreadsheet.addElement(table)
    content = io.BytesIO()
    document.write(content)
    return content.getvalue()


def cell(value: Any, shown: str | None = None, **more: Any) -> Any:
    """One cell: value with its type, and the text it shows."""
    kinds: dict[str, Any] = {}
    if isinstance(value, bool):
        kinds = {"valuetype": "boolean", "booleanvalue": str(value).lower()}
    elif isinstance(value, (int, float)):
        kinds = {"valuetype": "float", "value": repr(value)}
    elif isinstance(value, date):
        kinds = {"valuetype": "date", "datevalue": value.isoformat()}
    elif isinstance(value, time):
        kinds = {"valuetype": "time", "timevalue": f"PT{value.hour:02}H{value.minute:02}M{value.second:02}S"}
    elif value:
        kinds = {"valuetype": "string"}
    made = TableCell(**{**kinds, **more})
    for line in (shown if shown is not None else str(value or "")).splitlines():
        made.addElement(P(text=line))
    return made


def covered() -> Any:
    return CoveredTableCell()
