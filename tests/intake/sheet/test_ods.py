"""OpenDocument sheets: what another program wrote is read, and read as a third one reads it."""

from __future__ import annotations

import io
import zipfile
from datetime import date, datetime, time
from pathlib import Path
from xml.etree import ElementTree

import pytest

from delivery.intake.sheet.read import grids_in
from tests.intake.sheet.ods import cell, ods

ROWS = (
    ("No", "Title", "When", "Length", "Share", "Sure"),
    (1, "Low Water", date(2026, 11, 27), time(0, 3, 45), 0.5, True),
    (2.5, "Été\n潮", "", "", "", False),
)


def test_values_agree_with_another_reader(tmp_path: Path) -> None:
    """The outside judge is python-calamine, which reads OpenDocument by code of its own."""
    calamine = pytest.importorskip("python_calamine", reason="outside judge not installed: python-calamine")
    content = ods(ROWS)
    file = tmp_path / "copy.ods"
    file.write_bytes(content)
    (grid,) = grids_in(file, {})
    theirs = calamine.CalamineWorkbook.from_filelike(io.BytesIO(content)).get_sheet_by_index(0).to_python()
    mine = [[one.value for one in cells] for cells in grid.rows]
    assert mine[0] == theirs[0] == list(ROWS[0])
    for ours, judged in zip(mine[1:], theirs[1:], strict=True):
        assert [str(one or "").removesuffix(" 00:00:00") for one in ours] == [
            str(one or "").removesuffix(".0") for one in judged[: len(ours)]
        ]


def test_sheets_by_name_and_hidden_ones_not(tmp_path: Path) -> None:
    file = tmp_path / "copy.ods"
    file.write_bytes(ods(ROWS, ROWS, ROWS, hidden_sheets=(1,)))
    assert [grid.sheet for grid in grids_in(file, {})] == ["Sheet1", "Sheet3"]


def test_what_a_cell_shows_and_where_it_is(tmp_path: Path) -> None:
    file = tmp_path / "copy.ods"
    file.write_bytes(ods((("A", cell("", numbercolumnsrepeated=3), cell(7, "007")), ("",), ("B",))))
    (grid,) = grids_in(file, {})
    assert [(one.place, one.text) for one in grid.rows[0]] == [
        ("A1", "A"),
        ("B1", ""),
        ("C1", ""),
        ("D1", ""),
        ("E1", "007"),
    ]
    assert grid.cell(2, 0).place == "A3"


def test_blanks_between_elements_are_no_text(tmp_path: Path) -> None:
    """A flat document may be indented; blanks outside paragraphs are not content (OpenDocument 1.3 part 3, 6.1.2)."""
    packed, flat = tmp_path / "copy.ods", tmp_path / "copy.fods"
    packed.write_bytes(ods(ROWS))
    with zipfile.ZipFile(packed) as archive:
        root = ElementTree.fromstring(archive.read("content.xml"))
    ElementTree.indent(root)
    flat.write_bytes(ElementTree.tostring(root, "utf-8", xml_declaration=True))
    assert [grid.rows for grid in grids_in(flat, {})] == [grid.rows for grid in grids_in(packed, {})]
    flat.write_bytes(flat.read_bytes().replace(b"Low Water", b"Low\n      Water"))
    assert [grid.rows for grid in grids_in(flat, {})] == [grid.rows for grid in grids_in(packed, {})]


@pytest.mark.parametrize(
    ("moment", "shown"),
    [
        (date(2026, 11, 27), "2026-11-27"),
        (datetime(2026, 11, 27), "2026-11-27"),
        (datetime(2026, 11, 27, 9), "2026-11-27 09:00:00"),
        (datetime(2026, 11, 27, 0, 1), "2026-11-27 00:01:00"),
        (datetime(2026, 11, 27, 0, 0, 1), "2026-11-27 00:00:01"),
    ],
)
def test_a_date_is_quoted_with_its_hour_if_it_has_one(moment: date, shown: str, tmp_path: Path) -> None:
    """A message quotes the cell: '2026-11-27', not a midnight that nobody typed."""
    file = tmp_path / "copy.ods"
    file.write_bytes(ods((("When", moment),)))
    (grid,) = grids_in(file, {})
    assert grid.cell(0, 1).shown == shown
