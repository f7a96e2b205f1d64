"""OpenDocument sheets made to do harm: refused with one message, in a moment and in little memory."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest

from delivery.errors import Unusable
from delivery.intake.sheet.read import grids_in

HEAD = (
    '<?xml version="1.0"?><office:document-content '
    'xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
    'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" '
    'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" '
    'xmlns:draw="urn:oasis:names:tc:opendocument:xmlns:drawing:1.0"><office:body><office:spreadsheet>'
)
CELL = "<table:table-cell"
TAIL = "</office:spreadsheet></office:body></office:document-content>"
MIMETYPE = "application/vnd.oasis.opendocument.spreadsheet"


def row(*texts: str, more: str = "") -> str:
    cells = "".join(f"<table:table-cell><text:p>{text}</text:p></table:table-cell>" for text in texts)
    return f"<table:table-row {more}>{cells}</table:table-row>"


def sheet(rows: str) -> str:
    return f'{HEAD}<table:table table:name="One">{rows}</table:table>{TAIL}'


def packed(path: Path, content: str | bytes, mimetype: str = MIMETYPE, manifest: str = "") -> Path:
    into = io.BytesIO()
    with zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", mimetype)
        archive.writestr("META-INF/manifest.xml", manifest)
        archive.writestr("content.xml", content)
    file = path / "copy.ods"
    file.write_bytes(into.getvalue())
    return file


@pytest.mark.thorough(3)
@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (sheet(row("Low Water", more='table:number-rows-repeated="1048576"')), "more than 20,000 rows"),
        (sheet(row("A") + '<table:table-row table:number-rows-repeated="1000000"/>' + row("B")), "20,000 rows"),
        (
            sheet(
                '<table:table-row table:number-rows-repeated="9000">'
                '<table:table-cell table:number-columns-repeated="300"><text:p>x</text:p></table:table-cell>'
                "</table:table-row>"
            ),
            "more than 400,000 cells",
        ),
        (sheet("<text:section>" * 400 + "</text:section>" * 400), "too deep"),
        (sheet(row("a" * 40_000)), "more than 32,767 characters"),
        (sheet(row('a<text:s text:c="99999999"/>')), "more than 32,767 characters"),
        (sheet(row("a"))[:-90], "an OpenDocument sheet that is damaged"),
        (sheet(f'<table:table-row>{CELL} office:value-type="float" office:value="one"/></table:table-row>'), "damaged"),
        (sheet(f'<table:table-row>{CELL} office:value-type="date"/></table:table-row>'), "damaged"),
        (HEAD + TAIL, "an XML file without a table"),
        (sheet(""), "a workbook without any text"),
    ],
)  # fmt: skip
def test_content_that_no_sheet_has(tmp_path: Path, content: str, sentence: str) -> None:
    with pytest.raises(Unusable, match=rf"^copy\.ods: found .*{sentence}"):
        grids_in(packed(tmp_path, content), {})


def test_entities_are_not_expanded(tmp_path: Path) -> None:
    """'Billion laughs': ten levels of ten references each, and an entity that names a file."""
    levels = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 10))
    declared = f'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY l0 "ha">{levels}<!ENTITY f SYSTEM "file:///etc/hostname">]>'
    content = declared + sheet(row("&l9; &f;")).removeprefix('<?xml version="1.0"?>')
    with pytest.raises(Unusable, match="a document type, which may define entities"):
        grids_in(packed(tmp_path, content), {})


def test_a_small_file_that_would_unpack_to_gigabytes(tmp_path: Path) -> None:
    file = packed(tmp_path, HEAD.encode() + bytes(300 * 1024 * 1024))
    assert file.stat().st_size < 1024 * 1024
    with pytest.raises(Unusable, match="bytes when unpacked"):
        grids_in(file, {})


def test_a_password_and_other_documents(tmp_path: Path) -> None:
    with pytest.raises(Unusable, match="behind a password"):
        grids_in(packed(tmp_path, b"\x93\x11", manifest="<manifest:encryption-data/>"), {})
    with pytest.raises(Unusable, match="no sheet"):
        grids_in(packed(tmp_path, sheet(row("a")), mimetype="application/vnd.oasis.opendocument.text"), {})


def test_comments_shapes_and_tracked_deletions_are_no_text_of_a_cell(tmp_path: Path) -> None:
    cell = (
        "<table:table-cell><office:annotation><text:p>look again</text:p></office:annotation>"
        "<text:p>Low<text:s/> <text:span>Water</text:span></text:p><draw:frame><text:p>a picture</text:p></draw:frame>"
        "</table:table-cell>"
    )
    deleted = f"<table:tracked-changes>{row('Old')}</table:tracked-changes>"
    content = (
        f'{HEAD}{deleted}<table:table table:name="One"><table:table-row>{cell}</table:table-row></table:table>{TAIL}'
    )
    (grid,) = grids_in(packed(tmp_path, content), {})
    assert [[cell.text for cell in cells] for cells in grid.rows] == [["Low  Water"]]


def test_the_flat_form(tmp_path: Path) -> None:
    file = tmp_path / "copy.fods"
    file.write_text(sheet(row("No", "Title")).replace("document-content", "document"), encoding="utf-8")
    (grid,) = grids_in(file, {})
    assert [cell.text for cell in grid.rows[0]] == ["No", "Title"]
