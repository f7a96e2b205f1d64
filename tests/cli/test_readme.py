"""README's session is typed as it is printed, from masters and a client's sheet to a verified package."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import openpyxl
import pytest

from delivery.__main__ import run
from tests.albums import Song, write_song

README = Path(__file__).resolve().parents[2] / "README.md"


def session() -> list[list[str]]:
    """The commands under 'One session', without their comments."""
    part = README.read_text(encoding="utf-8").partition("## One session")[2].partition("`check` prints")[0]
    return [shlex.split(line, comments=True)[1:] for line in re.findall(r"^    \$ (delivery .*)", part, re.MULTILINE)]


def write_sheet(path: Path) -> None:
    book = openpyxl.Workbook()
    rows = [
        ["Album", "Harbour Arithmetic"],
        ["Catalogue number", "OSL-014"],
        [],
        ["No", "Title", "Artist", "ISRC", "Composer", "Explicit", "Language"],
        [1, "Sounding Line", "Ada Fenn", "ZZOSL2600001", "Ada Fenn", "no", "en"],
        [2, "Tally of Lamps", "Ada Fenn", "ZZOSL2600002", "Ada Fenn", "no", "en"],
    ]
    for row in rows:
        book.active.append(row)
    book.save(path)


def test_the_session_has_five_commands_that_work_in_order(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A new user has masters in a folder and the client's sheet beside it, and types what README prints."""
    monkeypatch.chdir(tmp_path)
    masters = tmp_path / "masters"
    masters.mkdir()
    for number, title in enumerate(["Sounding Line", "Tally of Lamps"], start=1):
        write_song(masters, number, Song(title, 44_100, 5.0, seed=number))
    write_sheet(tmp_path / "from client.xlsx")
    commands = session()
    assert [words[0] for words in commands] == ["start", "confirm", "check", "build", "verify"]
    for words in commands:
        code = run(words)
        assert code == 0, (words, capsys.readouterr().out)
    assert Path(commands[-1][1]).is_dir()
    assert "every audio hash and every figure agrees" in " ".join(capsys.readouterr().out.split())


def test_a_single_is_built_from_its_master_as_printed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    write_song(tmp_path, 1, Song("Song", 44_100, 5.0)).rename("Song.wav")
    (typed,) = re.findall(r"^    \$ (delivery build Song.wav .*)", README.read_text(encoding="utf-8"), re.MULTILINE)
    assert run(shlex.split(typed)[1:]) == 0
