"""Workbooks as grids: merged cells spread, formulas by their stored result, numbers as displayed."""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from typing import Any

from delivery.errors import Unusable
from delivery.intake.sheet.archive import BROKEN, MOST_CELLS, MOST_COLUMNS
from delivery.intake.sheet.cells import Cell, Grid, Value, place_of


def workbook(content: bytes, name: str) -> tuple[Grid, ...]:
    """Every visible sheet that is not empty, in order.

    Raises
    ------
    Unusable : damaged, or not a workbook
    """
    from openpyxl import load_workbook

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # warnings about styles and extensions that do not matter here
        try:
            values = load_workbook(io.BytesIO(content), data_only=True, keep_links=False)
            formulas = load_workbook(io.BytesIO(content), data_only=False, keep_links=False)
            sheets = [
                _grid(values[title], formulas[title], name, len(values.worksheets) > 1)
                for title in (sheet.title for sheet in values.worksheets if sheet.sheet_state == "visible")
            ]
        except BROKEN as error:
            raise Unusable(
                name,
                "a workbook that is damaged or of another kind",
                "an XLSX file",
                "Open it in a spreadsheet program and save it again.",
            ) from error
    found = tuple(grid for grid in sheets if any(not cell.empty for row in grid.rows for cell in row))
    if not found:
        raise Unusable(name, "a workbook without any text", "a sheet of tracks", "Is this the right file?")
    return found


def _grid(sheet: Any, formulas: Any, name: str, several: bool) -> Grid:
    rows, columns = sheet.max_row or 0, min(sheet.max_column or 0, MOST_COLUMNS)
    if rows * columns > MOST_CELLS:
        rows = MOST_CELLS // max(1, columns)
    cells = [[_cell(sheet.cell(r, c), formulas.cell(r, c)) for c in range(1, columns + 1)] for r in range(1, rows + 1)]
    while cells and all(cell.empty for cell in cells[-1]):
        cells.pop()
    remarks = list(_spread(sheet, cells))
    hidden = [index for index, shape in sheet.row_dimensions.items() if shape.hidden and index <= len(cells)]
    if hidden:
        remarks.append(f"Hidden rows are read too: {', '.join(map(str, sorted(hidden)))}.")
    title = str(sheet.title)
    named = f"{name}, sheet {title}," if several else name
    return Grid(named, tuple(map(tuple, cells)), tuple(remarks), title, _hidden_columns(sheet, columns))


def _hidden_columns(sheet: Any, columns: int) -> frozenset[int]:
    """Indices from 0. One entry of the file covers a run of columns."""
    runs = [shape for shape in sheet.column_dimensions.values() if shape.hidden and shape.min]
    return frozenset(
        at - 1 for shape in runs for at in range(int(shape.min), min(int(shape.max or shape.min), columns) + 1)
    )


def _spread(sheet: Any, cells: list[list[Cell]]) -> Iterator[str]:
    """A cell merged over rows counts for each of them; over columns it counts for the first (a title, a remark)."""
    for area in sheet.merged_cells.ranges:
        top, column = area.min_row - 1, area.min_col - 1
        if top >= len(cells) or column >= len(cells[top]) or cells[top][column].empty:
            continue
        first_cell = cells[top][column]
        for row in range(top + 1, min(area.max_row, len(cells))):
            cells[row][column] = Cell(place_of(row, column), first_cell.value, first_cell.shown, first_cell.trouble)
        if area.max_row > area.min_row:
            yield f"{first_cell.text!r}, merged over {area.coord}, counts for each of these rows."


def _cell(cell: Any, formula: Any) -> Cell:
    place = place_of(cell.row - 1, cell.column - 1)
    value = cell.value
    if isinstance(value, str) and cell.data_type == "e":
        return Cell(place, None, value, f"the spreadsheet's error {value}")
    if value is None and isinstance(formula.value, str) and formula.value.startswith("="):
        return Cell(place, None, formula.value, "a formula whose result was not stored")
    if not isinstance(value, (str, int, float, bool, datetime, date, time, timedelta, type(None))):
        value = str(value)
    if isinstance(value, str):
        value = value.replace("_x000D_", "\n").replace("\r\n", "\n").replace("\r", "\n")
    return Cell(place, value, _shown(value, str(cell.number_format or "General")))


def _shown(value: Value, form: str) -> str:
    """The displayed text, as far as it matters: leading zeros by format, percent, integers without decimals."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        value = int(value)
    if isinstance(value, (int, float)) and form.rstrip().endswith("%"):
        return f"{value * 100:.10g}%"
    if isinstance(value, int) and re.fullmatch("0+", form):
        return f"{value:0{len(form)}}"
    if isinstance(value, datetime) and (value.hour, value.minute, value.second) == (0, 0, 0):
        return value.date().isoformat()
    return repr(value) if isinstance(value, float) else str(value)
