"""Questions for the client: a mail and a sheet with what is missing, and the answer read back."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from openpyxl import load_workbook

from delivery.__main__ import run
from delivery.intake import load_release
from tests.albums import Song, write_song
from tests.homes import live_in

RELEASE = """title: "Gulls"  # as the band says
artist: "Ada Fenn"
label: Quayside
deliver_to: [ours]
tracks:
  - {file: 01 One.wav, title: One, artists: [Ada Fenn, {name: Jo Lin, role: featured}], isrc: ZZOSL2700001}
  - {file: 02 Two.wav, title: Two, isrc: ZZOSL2700002, language: de, explicit: "no"}
"""
SPEC = """title: Ours
about: A
checked: 2026-11-28
source: test
requires:
  track_fields: {should: [explicit, isrc, language]}
  release_fields: {must: [genre, label, artwork]}
  artwork_min_px: {should: 3000}
"""


@pytest.fixture
def album(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    live_in(tmp_path / "home", monkeypatch)
    folder = tmp_path / "album"
    folder.mkdir()
    for number, title in enumerate(("One", "Two"), start=1):
        write_song(folder, number, Song(title, 44_100, 2.0, seed=number))
    (folder / "release.yaml").write_text(RELEASE, encoding="utf-8")
    (folder / "ours.yaml").write_text(SPEC, encoding="utf-8")
    return folder


def test_each_question_is_written_once_and_nothing_else(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["questions", str(album)]) == 0
    capsys.readouterr()
    text = (album / "questions.txt").read_text(encoding="utf-8")
    assert text.splitlines()[:9] == [
        "Gulls: 4 questions before delivery",
        "",
        "The release",
        "  1. Genre is missing.",
        "  2. The cover is missing.",
        "",
        "Track 1, One",
        "  3. Explicit is missing: explicit, clean or no.",
        "  4. Language of lyrics is missing: en, de, ja ... or its English name.",
    ]
    rows = [tuple(cell for cell in row if cell) for row in load_workbook(album / "questions.xlsx").active.values]
    assert rows == [
        ("Release title", "Gulls"),
        ("Genre",),
        (),
        ("Track no.", "Title", "Version", "Explicit", "Language of lyrics", "File"),
        ("1", "One", "01 One.wav"),
        ("2", "Two", "no", "de", "02 Two.wav"),
    ]


def test_the_answer_is_read_back_and_the_rest_stays(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What the sheet has no question about is untouched: the guest, the label, the comment."""
    assert run(["questions", str(album)]) == 0
    book = load_workbook(album / "questions.xlsx")
    sheet = book.active
    sheet["B2"], sheet["D5"], sheet["E5"] = "Chamber pop", "clean", "English"
    book.save(album / "answer.xlsx")
    assert run(["start", str(album), "--label-copy", str(album / "answer.xlsx"), "--write"]) == 0
    release = load_release(album / "release.yaml")
    assert (release.genre, release.label) == ("Chamber pop", "Quayside")
    assert [(track.explicit, track.language, track.isrc) for track in release.tracks] == [
        ("clean", "en", "ZZOSL2700001"),
        ("no", "de", "ZZOSL2700002"),
    ]
    assert [credit.name for credit in release.tracks[0].artists] == ["Ada Fenn", "Jo Lin"]
    assert "# as the band says" in (album / "release.yaml").read_text(encoding="utf-8")
    capsys.readouterr()
    assert run(["questions", str(album), "--replace", "--json"]) == 0
    left = json.loads(capsys.readouterr().out)["questions"]
    assert [one["asks"] for one in left] == ["The cover is missing."]


def test_earlier_questions_are_not_written_over(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["questions", str(album)]) == 0
    (album / "questions.txt").write_text("mine", encoding="utf-8")
    assert run(["questions", str(album)]) == 2
    assert "Use --replace" in capsys.readouterr().err
    assert (album / "questions.txt").read_text(encoding="utf-8") == "mine"


def test_without_questions_nothing_is_written(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (album / "ours.yaml").write_text(SPEC.split("requires:")[0] + "requires: {}\n", encoding="utf-8")
    assert run(["questions", str(album)]) == 0
    assert "No question for the client" in capsys.readouterr().out
    assert not list(album.glob("questions*"))
