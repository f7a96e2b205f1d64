"""Refusals word for word: which file and cell, what was found, what is wanted, and what to do about it."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from delivery.errors import Unusable
from delivery.intake.sheet import mapping, previous_import
from delivery.intake.sheet import read as reading
from delivery.intake.sheet.archive import MOST_UNPACKED, ODS
from delivery.intake.sheet.read import grids_in
from delivery.intake.sheet.rows import read_copy
from delivery.model.fields import FIELDS
from tests.intake.sheet.corpus import csv, xlsx

OLE = b"\xd0\xcf\x11\xe0" + bytes(20)
ANY_SHEET = "a CSV, XLSX or ODS sheet"
AS_XLSX = "Open it in a spreadsheet program and save it as XLSX."


def archive(**members: bytes) -> bytes:
    into = io.BytesIO()
    with zipfile.ZipFile(into, "w") as file:
        for name, content in members.items():
            file.writestr(name.replace("__", "/"), content)
    return into.getvalue()


def read_all(path: Path) -> None:
    for grid in grids_in(path, {}):
        read_copy(grid, {})


def refusal(path: Path, content: bytes) -> tuple[str, str, str, str]:
    path.write_bytes(content)
    with pytest.raises(Unusable) as refused:
        read_all(path)
    return refused.value.place, refused.value.found, refused.value.wanted, refused.value.remedy


@pytest.mark.parametrize(
    ("content", "found", "wanted", "remedy"),
    [
        (OLE, "an old or a password-protected workbook", ANY_SHEET,
         "Save it as XLSX without a password, or as CSV."),
        (b"%PDF-1.7\n%", "a PDF", ANY_SHEET, "Ask for the spreadsheet it was made from."),
        (b"{\\rtf1 x}", "a text document", ANY_SHEET, "Save the table as CSV or XLSX."),
        (b"<html><table>", "a web page", ANY_SHEET, AS_XLSX),
        (b"<!doctype html>", "a web page", ANY_SHEET, AS_XLSX),
        (b" \r\n ", "an empty file", ANY_SHEET, "Copy it again from where it came."),
        (b"PK\x03\x04" + bytes(50), "a workbook that is cut off or damaged", "a whole XLSX file", "Copy it again."),
        (archive(a=b"x"), "an archive that is no workbook", "an XLSX, ODS or CSV file",
         "Save the table as one of these."),
        (archive(**{"content.xml": b"<x/>", "mimetype": b"application/vnd.oasis.opendocument.text"}),
         "an OpenDocument file that is no sheet", "an XLSX, ODS or CSV file", "Save the table as one of these."),
        (archive(**{"content.xml": b"<x/>", "mimetype": ODS, "META-INF__manifest.xml": b"<encryption-data/>"}),
         "a sheet behind a password", "a sheet without one", "Save it again without a password."),
        (archive(**{"[Content_Types].xml": b"<x/>"}), "a workbook that is damaged or of another kind", "an XLSX file",
         "Open it in a spreadsheet program and save it again."),
        (xlsx(lambda _sheet: None), "a workbook without any text", "a sheet of tracks", "Is this the right file?"),
        (csv(), "a header and no track below it", "one row for each track", "Is this the right sheet?"),
        (b"a,b\n1,2\n", "no row that names the columns (the fullest row has 'a', 'b')",
         "a header with the title and one more field",
         f"State what a column holds: --column 'Its header=title'. Fields: {', '.join(FIELDS)}."),
    ],
    ids=["ole", "pdf", "rtf", "html", "doctype", "empty", "cut off", "archive", "odt", "password", "damaged", "no text",
         "no track", "no header"],
)  # fmt: skip
def test_a_file_that_is_no_sheet_of_tracks(
    content: bytes, found: str, wanted: str, remedy: str, tmp_path: Path
) -> None:
    assert refusal(tmp_path / "label copy.csv", content) == ("label copy.csv", found, wanted, remedy)


def test_a_file_that_is_not_there_is_named_with_its_folder(tmp_path: Path) -> None:
    path = tmp_path / "gone.csv"
    with pytest.raises(Unusable) as refused:
        grids_in(path, {})
    one = refused.value
    assert (one.place, one.found, one.wanted, one.remedy) == (
        str(path), "no such file", ANY_SHEET, "Check the name and the folder.",
    )  # fmt: skip


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_path: Path, _most: int) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(reading, "read_regular", refuse)
    path = tmp_path / "copy.csv"
    with pytest.raises(Unusable) as refused:
        grids_in(path, {})
    one = refused.value
    assert (one.place, one.found, one.wanted, one.remedy) == (
        str(path), "no way to read it (Permission denied)", ANY_SHEET, "Check the file.",
    )  # fmt: skip


def test_files_too_large_to_be_label_copy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = csv(("1", "Low Water"), head=("No", "Title"))
    monkeypatch.setattr(reading, "MAX_BYTES", len(whole))
    path = tmp_path / "copy.csv"
    path.write_bytes(whole)
    assert len(grids_in(path, {})) == 1
    assert refusal(path, whole + b"\n") == (
        "copy.csv", f"more than {len(whole):,} bytes", f"at most {len(whole):,}", "Is this really label copy?",
    )  # fmt: skip


def test_an_archive_too_large_when_unpacked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The limit is on what the archive's own list states: nothing is unpacked to find out."""
    monkeypatch.setattr("delivery.intake.sheet.archive.MOST_UNPACKED", 1_000)
    assert refusal(tmp_path / "copy.xlsx", archive(a=bytes(600), b=bytes(401))) == (
        "copy.xlsx", "1,001 bytes when unpacked", "at most 1,000", "Is this really label copy?",
    )  # fmt: skip
    place, found, *_ = refusal(tmp_path / "copy.xlsx", archive(a=bytes(600), b=bytes(400)))
    assert (place, found) == ("copy.xlsx", "an archive that is no workbook")
    assert MOST_UNPACKED >= 100 * 2**20


def test_a_table_with_too_many_rows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reading, "MOST_ROWS", 3)
    path = tmp_path / "copy.csv"
    rows = [(str(at), f"Song {at}") for at in (1, 2, 3)]
    path.write_bytes(csv(*rows[:2], head=("No", "Title")))
    assert len(grids_in(path, {})[0].rows) == 3
    assert refusal(path, csv(*rows, head=("No", "Title"))) == (
        "copy.csv row 5", "more than 3 rows", "a table of tracks", "Check that row in a text editor.",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("text", "place", "found"),
    [
        ('No,Title\n1,"Low Water\n2,Lamps\n', "copy.csv B2",
         "a quotation mark that is not closed, or is inside the cell ('Low Water' ...)"),
        ('sep=;\nNo;Title\n1;"Low Water\n2;Lamps\n', "copy.csv B3",
         "a quotation mark that is not closed, or is inside the cell ('Low Water' ...)"),
        ('No,Title,ISRC\n1,"Low Water,ZZOSL2600001\n2,"Lamps,ZZOSL2600002\n', "copy.csv B2",
         "a quotation mark that is not closed, or is inside the cell ('Low Water,ZZOSL2600001' ...)"),
    ],
)  # fmt: skip
def test_a_quotation_mark_that_is_not_closed(text: str, place: str, found: str, tmp_path: Path) -> None:
    """Or closed rows later: it would merge these rows into one cell."""
    assert refusal(tmp_path / "copy.csv", text.encode()) == (
        place,
        found,
        "quotation marks in pairs around a cell, and doubled inside it",
        "Rows below may be missing: correct it in a text editor, or save the sheet as XLSX.",
    )


@pytest.mark.parametrize(
    ("column", "found", "wanted", "remedy"),
    [
        ("Lied", "'Lied'", "HEADER=FIELD", "Fields: "),
        ("!=title", "'!=title'", "HEADER=FIELD", "Fields: "),
        ("Lied=titel", "the field 'titel'", "a field of label copy", "Did you mean title? Fields: "),
        ("Lied=qqqq", "the field 'qqqq'", "a field of label copy", "Fields: "),
    ],
)
def test_a_column_stated_on_the_command_line(column: str, found: str, wanted: str, remedy: str) -> None:
    with pytest.raises(Unusable) as refused:
        mapping.stated_headers([column])
    one = refused.value
    assert (one.place, one.found, one.wanted) == ("--column", found, wanted)
    assert one.remedy == f"{remedy}{', '.join(FIELDS)}, ignore."


def test_a_column_stated_on_the_command_line_may_have_an_equals_sign_in_its_header() -> None:
    assert mapping.stated_headers(["A = B = title", " Farbe =ignore"]) == {
        "a b": ("A = B", "title"), "farbe": ("Farbe", "ignore"),
    }  # fmt: skip


@pytest.fixture
def config(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr("platformdirs.user_config_path", lambda name: tmp_path / "config" / name)
    return mapping.config_file()


def test_headers_are_remembered_once(config: Path) -> None:
    stated = mapping.stated_headers(['Lied "neu"=title'])
    assert mapping.remember(stated) == config
    assert config.read_text(encoding="utf-8") == mapping.HEAD + '  - {header: "Lied \\"neu\\"", field: title}\n'
    assert mapping.remember(stated) is None
    assert mapping.remember(mapping.stated_headers(["Lied neu=version"])) == config
    assert mapping.known_headers(config.parent) == {"lied neu": "version"}


def remembered(folder: Path, document: Any) -> Any:
    (folder / previous_import.NAME).write_text(json.dumps(document), encoding="utf-8")
    return previous_import.last_stated(folder)


WHOLE = {"form": 2, "release": {"title": "Album"}, "tracks": [{"file": "1.wav", "title": "One"}]}


def test_a_remembered_import_that_cannot_be_used_is_none(tmp_path: Path) -> None:
    assert previous_import.last_stated(tmp_path) is None
    assert remembered(tmp_path, WHOLE) == WHOLE
    spoilt: list[Callable[[dict[str, Any]], Any]] = [
        lambda whole: [whole],
        lambda whole: whole | {"form": 3},
        lambda whole: whole | {"form": []},
        lambda whole: whole | {"release": []},
        lambda whole: whole | {"tracks": {}},
        lambda whole: whole | {"tracks": ["1.wav"]},
        lambda whole: whole | {"tracks": [{"title": "One"}]},
        lambda whole: {key: value for key, value in whole.items() if key != "form"},
    ]
    for spoil in spoilt:
        assert remembered(tmp_path, spoil(dict(WHOLE))) is None
    (tmp_path / previous_import.NAME).write_bytes(b"\xff{")
    assert previous_import.last_stated(tmp_path) is None


def test_a_remembered_import_of_this_form_may_hold_anything_else(tmp_path: Path) -> None:
    """It is not read as the older form would be: a key that has another meaning there does no harm."""
    odd = WHOLE | {"tracks": [{"file": "1.wav", "title": "One", "artists": [{"name": "Ada"}]}]}
    assert remembered(tmp_path, odd) == odd
