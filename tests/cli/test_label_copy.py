"""Label copy on the command line: a sheet out, a sheet in, and every form of it out again."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from delivery.__main__ import run
from delivery.report.registry import label_copy_forms
from tests.albums import Song, write_song

pytestmark = pytest.mark.usefixtures("own_home")


@pytest.fixture
def masters(tmp_path: Path) -> Path:
    folder = tmp_path / "masters"
    folder.mkdir()
    for number, title in enumerate(("Low Water", "Lamps"), start=1):
        write_song(folder, number, Song(title, rate_hz=44_100, seconds=0.3, seed=number))
    return folder


@pytest.mark.parametrize("suffix", [".csv", ".xlsx"])
def test_a_blank_sheet_is_written_and_read_back(masters: Path, suffix: str, capsys: pytest.CaptureFixture[str]) -> None:
    """What the masters say of themselves is filled in; a sheet returned untouched is no fault."""
    blank = masters.parent / f"blank{suffix}"
    assert run(["start", str(masters), "--blank-sheet", str(blank)]) == 0
    assert run(["start", str(masters), "--blank-sheet", str(blank)]) == 2
    assert "an existing file" in capsys.readouterr().err
    if suffix == ".csv":
        text = blank.read_text(encoding="utf-8-sig").replace("UPC / EAN,", "UPC / EAN,36000291452")
        blank.write_text(text, encoding="cp1252")
    assert run(["start", str(masters), "--label-copy", str(blank), "--json"]) == 0
    reported = json.loads(capsys.readouterr().out)
    assert reported["tracks"] == ["Low Water", "Lamps"]
    assert reported["written"] is True
    assert any("has lost a leading zero" in remark for remark in reported["remarks"]) == (suffix == ".csv")


def test_a_blank_sheet_is_csv_or_xlsx(masters: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["start", str(masters), "--blank-sheet", str(masters / "sheet.ods")]) == 2
    assert "wanted .xlsx or .csv" in capsys.readouterr().err


def test_a_second_sheet_lists_its_changes_and_writes_on_request(
    masters: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = masters.parent / "copy.csv"
    sheet.write_text("No,Title,ISRC\n1,Low Water,ZZOSL2600001\n2,Lamps,\n", encoding="utf-8")
    assert run(["start", str(masters), "--label-copy", str(sheet)]) == 0
    sheet.write_text("No,Title,ISRC\n1,Low Water,ZZOSL2600001\n2,Lamps,ZZOSL2600002\n", encoding="utf-8")
    capsys.readouterr()
    assert run(["start", str(masters), "--label-copy", str(sheet)]) == 2
    out = capsys.readouterr().out
    assert "'Lamps', ISRC: was not supplied, now 'ZZOSL2600002'." in out
    assert "Nothing was written: --write puts this into" in out
    assert run(["start", str(masters), "--label-copy", str(sheet), "--replace"]) == 0


def test_faults_are_listed_with_their_cells(masters: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sheet = masters.parent / "copy.csv"
    sheet.write_text("No,Title,ISRC,UPC\n1,Low Water,X,4.00638E+12\n2,Lamps,,\n", encoding="utf-8")
    assert run(["start", str(masters), "--label-copy", str(sheet)]) == 2
    error = capsys.readouterr().err
    assert "copy.csv C2 ISRC: found 'X'" in error
    assert "copy.csv D2 UPC / EAN: found '4.00638E+12'" in error
    assert not (masters / "release.yaml").exists()


@pytest.mark.thorough(2)
@pytest.mark.parametrize("form", list(label_copy_forms()))
def test_every_form_prints_and_writes_the_same(
    masters: Path, form: str, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    run(["start", str(masters)])
    capfdbinary.readouterr()
    assert run(["label-copy", str(masters), "--as", form]) == 0
    printed = capfdbinary.readouterr().out
    assert run(["label-copy", str(masters), "--as", form, "--into", str(masters / "out")]) == 0
    assert (masters / "out").read_bytes() == printed
    assert run(["label-copy", str(masters), "--as", form, "--into", str(masters / "out")]) == 2


def test_an_unknown_form_and_a_folder_without_a_release(masters: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["label-copy", str(masters)]) == 2
    assert "no release file" in capsys.readouterr().err
    run(["start", str(masters)])
    assert run(["label-copy", str(masters), "--as", "pdf"]) == 2
    assert f"one of {', '.join(label_copy_forms())}" in capsys.readouterr().err


def test_json_is_one_document(masters: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Like every other command: one JSON document on standard output, nothing else; cautions go to standard error."""
    run(["start", str(masters)])
    path = masters / "release.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("artist:  #", 'artist: "Merrow"  #'), encoding="utf-8")
    capsys.readouterr()
    assert run(["label-copy", str(masters), "--json"]) == 0
    reported = capsys.readouterr()
    assert [track["title"] for track in json.loads(reported.out)["tracks"]] == ["Low Water", "Lamps"]
    assert "Not confirmed yet, from folder and file names: title 'masters'; order of the tracks;" in reported.err
    assert run(["label-copy", str(masters), "--as", "json"]) == 0
    assert capsys.readouterr().out == reported.out
    copy = masters / "copy.csv"
    assert run(["label-copy", str(masters), "--as", "csv", "--into", str(copy), "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {"label_copy": str(copy), "form": "csv"}
    assert copy.is_file()
    assert run(["label-copy", str(masters), "--as", "csv", "--json"]) == 2
    assert "--json: found --as csv beside it, wanted --as json, or a file to write." in capsys.readouterr().err
