"""The broadcast chunk, byte by byte, against EBU Tech 3285 version 2 (2011) and EBU R 98."""

from __future__ import annotations

import struct

import pytest

from delivery.model.figure import Measurement, Reading
from delivery.tags.bext import Bext, filled, history_line, hundredths, parse, to_ascii

TEXTS = {
    "Description": "Slack Water",
    "Originator": "Ostrelune Records",
    "OriginatorReference": "ZZOSL2600003",
    "OriginationDate": "2026-04-01",
}
LOUD = Measurement(
    {
        "integrated_lufs": Reading(-14.0),
        "loudness_range_lu": Reading(5.5),
        "true_peak_dbtp": Reading(-1.0),
        "momentary_max_lufs": Reading(-9.88),
        "short_term_max_lufs": Reading(12.34),
    }
)


def made(process: str = "A=PCM,F=44100,W=16,M=stereo,T=ab") -> bytes:
    return bytes(filled(Bext(), TEXTS, LOUD, process))


# Tech 3285 v2, the table of the chunk: offset, width, what must be there for the values above
LAYOUT = [
    ("Description", 0, b"Slack Water".ljust(256, b"\0")),
    ("Originator", 256, b"Ostrelune Records".ljust(32, b"\0")),
    ("OriginatorReference", 288, b"ZZOSL2600003".ljust(32, b"\0")),
    ("OriginationDate", 320, b"2026-04-01"),
    ("OriginationTime", 330, bytes(8)),
    ("TimeReference", 338, bytes(8)),
    ("Version", 346, b"\x02\x00"),
    ("UMID", 348, bytes(64)),
    ("LoudnessValue", 412, bytes.fromhex("88FA")),  # -14.00 LUFS
    ("LoudnessRange", 414, bytes.fromhex("2602")),  # 5.50 LU
    ("MaxTruePeakLevel", 416, bytes.fromhex("9CFF")),  # -1.00 dBTP
    ("MaxMomentaryLoudness", 418, bytes.fromhex("24FC")),  # -9.88 LUFS
    ("MaxShortTermLoudness", 420, bytes.fromhex("D204")),  # 12.34 LUFS
    ("Reserved", 422, bytes(180)),
    ("CodingHistory", 602, b"A=PCM,F=44100,W=16,M=stereo,T=ab\r\n"),
]


@pytest.mark.parametrize(("field", "offset", "content"), LAYOUT, ids=[row[0] for row in LAYOUT])
def test_every_field_is_stored_in_its_place(field: str, offset: int, content: bytes) -> None:
    assert made()[offset : offset + len(content)] == content, field


def test_the_layout_leaves_no_gap() -> None:
    """602 fixed bytes, then the history, and a chunk of even length."""
    ends = [offset + len(content) for _, offset, content in LAYOUT]
    assert [offset for _, offset, _ in LAYOUT[1:]] == ends[:-1]
    assert LAYOUT[-1][1] == 602
    assert len(made()) == ends[-1] == 636
    assert len(made("A=PCM,F=44100,W=16,M=stereo,T=a")) == 636  # filled up with a zero


@pytest.mark.parametrize(
    ("value", "stored"),
    [
        (-14.0, -1400), (-0.0, 0), (-23.004, -2300), (-23.006, -2301), (99.99, 9999), (-99.99, -9999),
        # outside -99.99 .. 99.99 there is no value: 0x7FFF (from memory)
        (-100.0, 0x7FFF), (100.0, 0x7FFF), (99.996, 0x7FFF), (None, 0x7FFF),
    ],
)  # fmt: skip
def test_loudness_in_hundredths(value: float | None, stored: int) -> None:
    reading = Reading.missing("silence") if value is None else Reading(value)
    assert hundredths(Measurement({"integrated_lufs": reading})) == (stored, 0x7FFF, 0x7FFF, 0x7FFF, 0x7FFF)


def test_without_a_measurement_there_is_no_loudness() -> None:
    body = bytes(filled(Bext(), TEXTS, None, ""))
    assert body[412:422] == bytes.fromhex("FF7F") * 5
    assert len(body) == 602
    assert parse(body).figures() == {}


def test_what_was_written_is_read() -> None:
    read = parse(made())
    assert read.texts() == TEXTS | {"CodingHistory": "A=PCM,F=44100,W=16,M=stereo,T=ab"}
    assert read.figures() == {
        "integrated_lufs": -14.0, "loudness_range_lu": 5.5, "true_peak_dbtp": -1.0, "momentary_max_lufs": -9.88,
        "short_term_max_lufs": 12.34,
    }  # fmt: skip


def recorder_chunk(version: int) -> bytes:
    """A chunk as a field recorder makes it, laid out by hand."""
    body = b"take 7".ljust(256, b"\0") + b"recorder".ljust(32, b"\0") + b"REF7".ljust(32, b"\0")
    body += b"2025-12-24" + b"18:30:00" + struct.pack("<IIH", 0x89ABCDEF, 1, version) + bytes(range(64))
    body += struct.pack("<5h", *(-100, 200, -300, 400, -500)) + bytes(180)
    return body + b"A=ANALOGUE,M=stereo\r\nA=PCM,F=96000,W=24,M=stereo,T=a; b\r\n\0\0"


def test_what_the_recorder_wrote_is_kept() -> None:
    """Time reference, UMID and history belong to the recording; texts we have take their places."""
    new = parse(bytes(filled(parse(recorder_chunk(2)), {"Description": "Slack Water"}, None, "A=PCM")))
    assert new == Bext(
        "Slack Water", "recorder", "REF7", "2025-12-24", "18:30:00", 0x1_89AB_CDEF, bytes(range(64)),
        (-100, 200, -300, 400, -500), ("A=ANALOGUE,M=stereo", "A=PCM,F=96000,W=24,M=stereo,T=a; b"),
    )  # fmt: skip


def test_a_new_date_takes_the_old_time_away() -> None:
    """Half of another day's time stamp would be an invented fact."""
    old = parse(recorder_chunk(2))
    assert filled(old, {"OriginationDate": "2026-04-01"}, None, "").origination_time == ""
    assert filled(old, {"OriginationDate": "2025-12-24"}, None, "").origination_time == "18:30:00"


@pytest.mark.parametrize(("version", "umid", "loudness"), [(0, False, False), (1, True, False), (2, True, True)])
def test_older_versions(version: int, umid: bool, loudness: bool) -> None:
    """Version 0 (1997) has no UMID, version 1 (2001) no loudness: those bytes are reserved and mean nothing."""
    read = parse(recorder_chunk(version))
    assert (read.umid != bytes(64)) is umid
    assert bool(read.figures()) is loudness
    assert bytes(read)[346:348] == b"\x02\x00"


@pytest.mark.parametrize("length", [0, 1, 255, 256, 340, 347, 421, 601, 602, 603])
def test_a_short_chunk_is_read_to_its_end(length: int) -> None:
    read = parse(recorder_chunk(2)[:length])
    assert read.description == "take 7"[:length]
    assert read.origination_date == ("2025-12-24" if length >= 330 else "")


@pytest.mark.parametrize(
    ("text", "ascii"),
    [("Café – “Été”", 'Cafe - "Ete"'), ("e\u0301", "e"), ("ﬁ", "fi"), ("🌊", ""), ("a\nb\x7f", "a b"),
     ("it’s…", "it's..."), ("Łódź ærø ðing straße œuvre İstanbul", "Lodz aero ding strasse oeuvre Istanbul"),
     ("Портовая", "Portovaya"), ("Αριθμητική", "Arithmitiki"), ("Salt 港", "Salt"), ("港の算術", "")],
)  # fmt: skip
def test_nearest_ascii(text: str, ascii: str) -> None:
    assert to_ascii(text) == ascii


def test_long_texts_are_cut_to_the_field() -> None:
    body = bytes(filled(Bext(), {"Description": "d" * 300, "Originator": "o" * 33}, None, ""))
    assert body[:256] == b"d" * 256
    assert body[256:288] == b"o" * 32
    assert body[288] == 0


@pytest.mark.parametrize(
    ("arguments", "line"),
    [
        # EBU R 98: A, F, W, M, T in this order; the text holds no comma
        ((96_000, 24, 2, "Maker, model; serial"), "A=PCM,F=96000,W=24,M=stereo,T=Maker; model; serial"),
        ((44_100, 16, 1, ""), "A=PCM,F=44100,W=16,M=mono"),
        ((48_000, None, 6, "x"), "A=PCM,F=48000,T=x"),
    ],
)
def test_history_lines(arguments: tuple[int, int | None, int, str], line: str) -> None:
    assert history_line(*arguments) == line


def test_a_given_history_is_the_whole_history() -> None:
    lines = "A=PCM,F=96000,W=24,M=stereo\nA=PCM,F=44100,W=16,M=stereo,T=rate; dither"
    body = bytes(filled(parse(recorder_chunk(2)), {"CodingHistory": lines}, None, "A=PCM"))
    assert body[602:].rstrip(b"\0") == (lines.replace("\n", "\r\n") + "\r\n").encode()


@pytest.mark.parametrize("text", ["Café".encode(), "Café".encode("latin-1"), "Łąka".encode()])
def test_texts_of_an_older_chunk_stay_byte_for_byte(text: bytes) -> None:
    """Tech 3285 requires ASCII; other texts that programs wrote are kept, and shown decoded."""
    old = text.ljust(256, b"\0") + bytes(602 - 256)
    assert bytes(filled(parse(old), {"Originator": "Ostrelune"}, None, ""))[:256] == text.ljust(256, b"\0")
    assert parse(old).texts()["Description"] in ("Café", "Łąka")
