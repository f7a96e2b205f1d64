"""What older programs left in masters: text chunks of AIFF, and recording codes where INFO has the source."""

from __future__ import annotations

import struct
import subprocess
from pathlib import Path

import numpy as np
import pytest
import soundfile

from delivery.errors import Unusable
from delivery.formats import embed, notes, read_tags
from delivery.intake import first_release_file
from tests.judges import needs
from tests.tags.sounds import audio, build, chunks, info, wav

COMM = struct.pack(">hLh", 1, 2, 16) + b"\x40\x0e\xac\x44\0\0\0\0\0\0"
NAMED = [
    (b"NAME", b"Low Water"),
    (b"AUTH", b"Merrow"),
    (b"(c) ", b"1998 Ostrelune"),
    (b"ANNO", b"tape 3, azimuth checked"),
]


def aiff(path: Path, *texts: tuple[bytes, bytes]) -> Path:
    path.write_bytes(build([(b"COMM", COMM), *texts, (b"SSND", bytes(8) + b"\1\2\3\4")], b"FORM", b"AIFF"))
    return path


def test_text_chunks_are_read_where_no_tag_has_the_field(tmp_path: Path) -> None:
    """AIFF 1.3, 'Text Chunks': NAME is the sound's name, AUTH its author, '(c) ' its copyright, ANNO a comment."""
    path = aiff(tmp_path / "a.aiff", *NAMED)
    assert read_tags(path, "aiff") == {"title": "Low Water", "artist": "Merrow", "c_line": "1998 Ostrelune"}
    assert notes(path) == ("note in the file: 'tape 3, azimuth checked'",)


@pytest.mark.parametrize(
    ("raw", "text"),
    [(b"Caf\x8e", "Café"), ("Café".encode(), "Café"), (b"Low\0junk", "Low"), (b"  ", ""), (b"", "")],
)
def test_letters_of_an_old_chunk(tmp_path: Path, raw: bytes, text: str) -> None:
    """The format is ASCII; Mac OS Roman has the accented e at 8E."""
    assert read_tags(aiff(tmp_path / "a.aiff", (b"NAME", raw)), "aiff").get("title", "") == text


def test_delivered_texts_agree_with_each_other(tmp_path: Path) -> None:
    """Chunks that agree with the tag stay, those that do not go; notes and what no spec mentions stay."""
    path = aiff(tmp_path / "a.aiff", *NAMED)
    sound = audio(path)
    report = embed(path, "aiff", {"title": "Low Water", "artist": "Somebody Else"})
    assert report.differs == ()
    kept = dict(chunks(path.read_bytes()))
    assert b"AUTH" not in kept
    assert (kept[b"NAME"], kept[b"(c) "], kept[b"ANNO"]) == (
        b"Low Water",
        b"1998 Ostrelune",
        b"tape 3, azimuth checked",
    )
    assert read_tags(path, "aiff") == {"title": "Low Water", "artist": "Somebody Else", "c_line": "1998 Ostrelune"}
    assert audio(path) == sound


@needs("ffmpeg")
def test_chunks_that_another_program_wrote(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "a.wav", np.zeros(100), 44_100)
    texts = ("title=Low Water", "author=Merrow", "copyright=1998 Ostrelune", "comment=tape 3")
    reported = [word for text in texts for word in ("-metadata", text)]
    made = tmp_path / "a.aiff"
    subprocess.run(["ffmpeg", "-v", "error", "-i", tmp_path / "a.wav", *reported, made], check=True, timeout=60)
    assert b"NAME" in dict(chunks(made.read_bytes()))
    assert read_tags(made, "aiff") == {"title": "Low Water", "artist": "Merrow", "c_line": "1998 Ostrelune"}
    assert notes(made) == ("note in the file: 'tape 3'",)


@needs("ffprobe")
def test_another_program_reads_only_what_was_delivered(tmp_path: Path) -> None:
    path = aiff(tmp_path / "a.aiff", *NAMED)
    embed(path, "aiff", {"title": "Slack Water", "artist": "Somebody Else", "c_line": "2026 Ostrelune"})
    shown = subprocess.run(
        ["ffprobe", "-v", "error", "-show_format", path], check=True, capture_output=True, encoding="utf-8", timeout=60
    ).stdout
    assert "TAG:title=Slack Water" in shown
    assert "Low Water" not in shown
    assert "1998" not in shown


def listed(*entries: tuple[bytes, bytes]) -> bytes:
    packed = (name + struct.pack("<I", len(raw)) + raw + b"\0" * (len(raw) % 2) for name, raw in entries)
    return b"INFO" + b"".join(packed)


def info_wav(path: Path, source: bytes) -> Path:
    path.write_bytes(wav((b"LIST", listed((b"ISRC", source), (b"ICMT", b"kept\0")))))
    return path


@pytest.mark.parametrize(("raw", "code"), [(b"ZZ-OSL-26-00001\0", "ZZOSL2600001"), (b"ZZOSL2600001", "ZZOSL2600001")])
def test_a_code_in_the_source_entry_is_read_and_reported(tmp_path: Path, raw: bytes, code: str) -> None:
    """RIFF of 1991: ISRC is 'the name of the person or organization who supplied the original subject'."""
    path = info_wav(tmp_path / "01 Low Water.wav", raw)
    assert read_tags(path, "wav")["isrc"] == code
    assert notes(path) == (
        f"the file has {code} in INFO's ISRC, which means the source of the item: is it this recording's code?",
    )
    text = first_release_file(tmp_path)
    assert f'isrc: "{code}"' in text
    assert "# the file has ZZOSL2600001 in INFO's ISRC" in text


def test_a_source_is_no_code(tmp_path: Path) -> None:
    path = info_wav(tmp_path / "a.wav", b"Lantern Room\0")
    assert read_tags(path, "wav") == {}
    assert notes(path) == ()
    embed(path, "wav", {"title": "T", "isrc": "ZZOSL2600002"})
    entries = info(dict(chunks(path.read_bytes()))[b"LIST"])
    assert entries[b"ISRC"] == b"Lantern Room\0"


@pytest.mark.parametrize(("isrc", "stays"), [("ZZOSL2600002", False), ("ZZOSL2600001", True), ("", True)])
def test_another_recordings_code_does_not_travel_along(tmp_path: Path, isrc: str, stays: bool) -> None:
    path = info_wav(tmp_path / "a.wav", b"ZZOSL2600001\0")
    embed(path, "wav", {"title": "T", **({"isrc": isrc} if isrc else {})})
    entries = info(dict(chunks(path.read_bytes()))[b"LIST"])
    assert (b"ISRC" in entries) is stays
    assert entries[b"ICMT"] == b"kept\0"


def test_a_broken_aiff_is_one_message(tmp_path: Path) -> None:
    path = aiff(tmp_path / "a.aiff", *NAMED)
    path.write_bytes(path.read_bytes()[:60])
    with pytest.raises(Unusable):
        notes(path)
