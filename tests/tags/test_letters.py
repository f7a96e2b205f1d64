"""Letters beyond ASCII in the chunks of a WAV: what bext and INFO hold, and what is reported about it."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.formats import embed, read_tags
from delivery.tags.bext import parse
from tests.tags.sounds import chunks, copy, info


def description(path: Path) -> str:
    return parse(dict(chunks(path.read_bytes()))[b"bext"]).description


@pytest.mark.parametrize(
    ("title", "isrc", "held"),
    [
        ("Łódź, ærø, ðing, straße", "ZZOSL2600001", "Lodz, aero, ding, strasse"),
        ("Портовая арифметика", "ZZOSL2600001", "Portovaya arifmetika"),
        ("港の算術", "ZZOSL2600001", "ZZOSL2600001"),
        ("בחר הלילה", "", "Track 3"),
        ("क्षितिज की लहरें", "", "Track 3"),
        ("Salt בחר", "ZZOSL2600001", "ZZOSL2600001"),
        ("🌊🌊🌊", "", "Track 3"),
        ("???", "", "Track 3"),
    ],
)
def test_bext_has_letters_or_a_code_and_never_rows_of_question_marks(
    shelf: Path, tmp_path: Path, title: str, isrc: str, held: str
) -> None:
    """EBU Tech 3285: Description is ASCII. What it cannot say is reported by the ISRC, or by the track's number."""
    path = copy(shelf, "plain.wav", tmp_path)
    report = embed(path, "wav", {"title": title, "track_number": "3"} | ({"isrc": isrc} if isrc else {}))
    assert description(path) == held
    assert report.written["title"] == title
    assert any(line.startswith("title (bext): wrote") for line in report.differs)


def test_a_label_without_ascii_letters_keeps_the_old_originator(shelf: Path, tmp_path: Path) -> None:
    path = copy(shelf, "plain.wav", tmp_path)
    embed(path, "wav", {"label": "Wave Editor"})
    report = embed(path, "wav", {"label": "港湾"})
    assert parse(dict(chunks(path.read_bytes()))[b"bext"]).originator == "Wave Editor"
    assert "label (bext): wrote '港湾', reads 'Wave Editor'" in report.differs


@pytest.mark.parametrize(
    ("title", "raw", "text"),
    [
        ("Été à quai", "Été à quai".encode("latin-1"), False),
        ("Slack Water", b"Slack Water", False),
        ("Łódź", "Łódź".encode(), True),
        ("港の算術", "港の算術".encode(), True),
        (
            "Ã© as it stands",
            "Ã© as it stands".encode(),
            True,
        ),  # its Latin-1 would be read as UTF-8, and as another text
    ],
)
def test_info_is_latin_1_or_else_utf_8_with_a_note(
    shelf: Path, tmp_path: Path, title: str, raw: bytes, text: bool
) -> None:
    """Common practice, no source: RIFF of 1991 names no encoding, and most readers take INFO for Latin-1."""
    path = copy(shelf, "plain.wav", tmp_path)
    report = embed(path, "wav", {"title": title})
    assert info(dict(chunks(path.read_bytes()))[b"LIST"])[b"INAM"] == raw + b"\0"
    assert [note for note in report.notes if "UTF-8" in note] == (list(report.notes) if text else [])
    assert bool(report.notes) is text
    assert read_tags(path, "wav")["title"] == title
    assert not [line for line in report.differs if "(info)" in line]
