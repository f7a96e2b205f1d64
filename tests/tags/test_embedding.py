"""Tags into a file and out of it again, for every container."""

from __future__ import annotations

import struct
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from delivery.errors import Unusable
from delivery.formats import containers, embed, read_tags
from delivery.tags import id3, riff
from delivery.tags.fields import FIELDS
from tests.tags.sounds import CONTAINERS, LOSSLESS, MEASUREMENT, VALUES, audio, build, copy, cover

ALL = [*CONTAINERS.items(), ("wav", "rf64.wav"), ("wav", "odd.wav"), ("wav", "odd24.wav"), ("aiff", "odd.aiff")]
every_file = pytest.mark.parametrize(("container", "name"), ALL, ids=[name for _, name in ALL])


def test_every_container_is_tried() -> None:
    """Those that store label copy; `tests/contracts` holds the others to say that they do not."""
    assert {container.id for container in containers().values() if container.tag_formats} == set(CONTAINERS)


@every_file
def test_all_values_are_read_back(shelf: Path, tmp_path: Path, container: str, name: str) -> None:
    path = copy(shelf, name, tmp_path)
    report = embed(path, container, VALUES, None, MEASUREMENT)
    wanted = VALUES if container == "wav" else {k: v for k, v in VALUES.items() if k != "dated"}
    history = {"coding_history"} if container == "wav" else set()
    assert {k: v for k, v in report.written.items() if k not in history} == wanted
    assert (report.not_stored, report.differs) == ((), ())
    assert read_tags(path, container) == {k: v for k, v in VALUES.items() if k != "dated"}


@every_file
def test_the_sound_is_untouched(shelf: Path, tmp_path: Path, container: str, name: str) -> None:
    """libsndfile (lossless) and libavformat (lossy) find the same sound before and after."""
    path = copy(shelf, name, tmp_path)
    before = audio(path)
    embed(path, container, VALUES, cover(), MEASUREMENT)
    assert audio(path) == before


@every_file
def test_same_in_same_out(shelf: Path, tmp_path: Path, container: str, name: str) -> None:
    """Two copies tagged alike are equal byte for byte, and tagging again changes nothing."""
    (tmp_path / "b").mkdir()
    one, two = copy(shelf, name, tmp_path), copy(shelf, name, tmp_path / "b")
    for path in (one, two, two):
        embed(path, container, dict(reversed(VALUES.items())) if path is two else VALUES, cover(), MEASUREMENT)
    assert one.read_bytes() == two.read_bytes()


@every_file
def test_what_stood_there_before_leaves_no_trace(shelf: Path, tmp_path: Path, container: str, name: str) -> None:
    """A long title, then a short one, gives the bytes of the short one alone: no padding is kept anywhere."""
    (tmp_path / "b").mkdir()
    one, two = copy(shelf, name, tmp_path), copy(shelf, name, tmp_path / "b")
    embed(one, container, VALUES | {"title": "x" * 300, "p_line": "y" * 5000}, cover(), MEASUREMENT)
    for path in (one, two):
        embed(path, container, VALUES, cover("PNG"), MEASUREMENT)
    assert one.read_bytes() == two.read_bytes()


@every_file
def test_new_values_replace_old_ones(shelf: Path, tmp_path: Path, container: str, name: str) -> None:
    path = copy(shelf, name, tmp_path)
    embed(path, container, VALUES, cover(), MEASUREMENT)
    report = embed(
        path, container, VALUES | {"title": "Neap", "isrc": "ZZOSL2600009", "track_number": "4"}, cover("PNG")
    )
    assert report.differs == ()
    assert [report.written[name] for name in ("title", "isrc", "track_number", "track_total")] == [
        "Neap", "ZZOSL2600009", "4", "9",
    ]  # fmt: skip
    assert report.written["artwork"].startswith("image/png, 60 x 40")


@every_file
@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_a_cover_is_read_back(shelf: Path, tmp_path: Path, container: str, name: str, kind: str) -> None:
    path, picture = copy(shelf, name, tmp_path), cover(kind)
    report = embed(path, container, {}, picture)
    assert report.written["artwork"] == f"image/{kind.lower()}, 60 x 40, {len(picture)} bytes"
    assert report.differs == ()


@pytest.mark.parametrize(("kind", "number"), [("JPEG", 13), ("PNG", 14)])
def test_the_cover_atom_states_its_kind(shelf: Path, tmp_path: Path, kind: str, number: int) -> None:
    """MP4 ``data`` atom: type 13 is JPEG, 14 is PNG (QuickTime file format, well-known types)."""
    path, picture = copy(shelf, "plain.m4a", tmp_path), cover(kind)
    embed(path, "m4a", {}, picture)
    found = path.read_bytes().partition(b"covr")[2]
    assert found[:16] == struct.pack(">I4sII", 16 + len(picture), b"data", number, 0)


def test_a_cover_that_changed_when_read_back_is_reported(
    shelf: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(id3, "read_picture", lambda _: cover("PNG"))
    report = embed(copy(shelf, "plain.mp3", tmp_path), "mp3", {}, cover("JPEG"))
    assert "artwork" not in report.written
    assert report.differs[0].startswith("artwork: wrote image/jpeg, 60 x 40")


def test_a_recorders_reference_is_no_recording_code(shelf: Path, tmp_path: Path) -> None:
    """Tech 3285: OriginatorReference is free; only what has the form of an ISRC (ISO 3901) is read as one."""
    path = copy(shelf, "plain.wav", tmp_path)
    riff.write(path, {"isrc": "USID-RECORDER-7"}, None, None)
    assert b"USID-RECORDER-7" in path.read_bytes()
    assert read_tags(path, "wav") == {}
    riff.write(path, {"isrc": "ZZOSL2600001"}, None, None)
    assert read_tags(path, "wav") == {"isrc": "ZZOSL2600001"}


@pytest.mark.parametrize("picture", [b"", b"GIF89a", b"\xff\xd8\xff", b"\xff\xd8\xff\xe0\x00", b"\x89PNG\r\n\x1a\n"])
@pytest.mark.parametrize(("container", "name"), list(CONTAINERS.items()))
def test_a_cover_of_another_kind_is_reported(
    shelf: Path, tmp_path: Path, container: str, name: str, picture: bytes
) -> None:
    report = embed(copy(shelf, name, tmp_path), container, {"title": "T"}, picture)
    assert "artwork" not in report.written
    assert report.differs == ("artwork: neither a JPEG nor a PNG, so not embedded",)


def test_a_cover_too_large_for_a_flac_block_is_reported(shelf: Path, tmp_path: Path) -> None:
    """RFC 9639: a metadata block's length has 24 bits."""
    report = embed(copy(shelf, "plain.flac", tmp_path), "flac", VALUES, cover() + bytes(2**24))
    assert report.written["title"] == VALUES["title"]
    assert [line.partition(":")[0] for line in report.differs] == ["artwork"]


def test_fields_not_stored_are_named(shelf: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from dataclasses import replace

    from delivery.formats import registry

    bare = {"wav": replace(containers()["wav"], tag_formats=("riff",))}
    monkeypatch.setattr(registry, "containers", lambda: bare)
    report = embed(copy(shelf, "plain.wav", tmp_path), "wav", VALUES)
    assert set(report.not_stored) == {
        "album_artist", "track_total", "disc_number", "disc_total", "composers", "lyricists", "remixers", "language",
        "explicit", "original_date", "p_line", "catalogue_number", "upc", "producers", "mixers", "original_artist",
        "recording_studio", "iswc", "bpm", "key", "recording_country", "recording_year", "writers", "publishers",
        "isni", "credits", "samples", "preview_start_s", "territories", "subgenre", "title_language",
    }  # fmt: skip
    assert report.differs == ()
    assert report.written["title"] == "Slack Water (Instrumental)"


def test_an_unknown_field_is_not_stored(shelf: Path, tmp_path: Path) -> None:
    report = embed(copy(shelf, "plain.flac", tmp_path), "flac", {"title": "T", "mood": "low"})
    assert report.not_stored == ("mood",)


def test_ascii_only_fields_are_reported(shelf: Path, tmp_path: Path) -> None:
    """Tech 3285: bext is ASCII, 256 and 32 characters wide. The other columns of the same file hold the text whole."""
    values = {"title": "Été 🌊 " + "x" * 300, "label": "Østrelune 港"}
    report = embed(copy(shelf, "plain.wav", tmp_path), "wav", values)
    assert report.written["title"] == values["title"]
    assert len(report.differs) == 2
    assert report.differs[0].startswith("title (bext): wrote 'Été 🌊 ")
    assert report.differs[0].endswith("(256 characters)")
    assert report.differs[1] == "label (bext): wrote 'Østrelune 港', reads 'Ostrelune'"


def test_wrong_loudness_in_the_file_is_reported(shelf: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The report has what was read back, not what was intended: here a writer omits the figures."""
    from delivery.tags import bext

    fill = bext.filled
    monkeypatch.setattr(bext, "filled", lambda old, texts, _, process: fill(old, texts, None, process))
    report = embed(copy(shelf, "plain.wav", tmp_path), "wav", {"title": "T"}, None, MEASUREMENT)
    assert len(report.differs) == 5
    assert report.differs[0] == "integrated_lufs (bext): wrote '-1400', reads '32767'"


def test_the_most_reliable_column_is_used(shelf: Path, tmp_path: Path) -> None:
    """ID3 before axml before INFO before bext; a recorder's own name and take are not label copy."""
    path = copy(shelf, "plain.wav", tmp_path)
    riff.write(path, {"title": "Take 7", "label": "Recorder", "isrc": "ZZOSL2600001", "artist": "A"}, None, None)
    assert read_tags(path, "wav") == {"title": "Take 7", "artist": "A", "isrc": "ZZOSL2600001"}
    id3.write(path, {"title": "Slack Water"}, None, None)
    assert read_tags(path, "wav") == {"title": "Slack Water", "artist": "A", "isrc": "ZZOSL2600001"}


@pytest.mark.parametrize(("container", "name"), list(CONTAINERS.items()))
@pytest.mark.parametrize(
    "text",
    ["x" * 10_000, "🌊🎚️ é e\u0301", "הנמל הישן", "ميناء قديم", "\ufefflow", "a\tb", "a\nb", " lead and trail ", "17"],
    ids=["long", "emoji", "hebrew", "arabic", "byte order mark", "tab", "newline", "blanks", "digits"],
)
def test_odd_texts_are_read_back(shelf: Path, tmp_path: Path, container: str, name: str, text: str) -> None:
    path = copy(shelf, name, tmp_path)
    before = audio(path)
    values = {"title": text, "album": text, "catalogue_number": text, "composers": text, "p_line": text}
    report = embed(path, container, values)
    assert {name: report.written[name] for name in values} == values
    assert [line for line in report.differs if "(bext)" not in line] == []
    assert audio(path) == before


@pytest.mark.parametrize(("container", "name"), list(CONTAINERS.items()))
def test_what_cannot_be_stored_is_reported(shelf: Path, tmp_path: Path, container: str, name: str) -> None:
    """NUL ends a text in every tag format; half a surrogate pair is no character; a track number is a number."""
    values = {"title": "a\0b", "album": "\ud83c", "track_number": "four/x", "track_total": "99999999"}
    report = embed(copy(shelf, name, tmp_path), container, values)
    report_text = " ".join(report.differs)
    assert report.written["title"] == "a b"
    for field in ("title", "album"):
        assert f"{field}: wrote" in report_text
    for field in ("track_number", "track_total"):
        assert report.written.get(field) == values[field] or field in report_text


ANY_TEXT = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=40)


@pytest.mark.parametrize(("container", "name"), list(CONTAINERS.items()))
@settings(max_examples=25, suppress_health_check=list(HealthCheck), derandomize=True)
@given(values=st.dictionaries(st.sampled_from([*FIELDS]), ANY_TEXT, min_size=1))
@example(values={"composers": "; ", "lyricists": "a; ; b", "remixers": "a; b"})
@example(values={"genre": "(17)", "release_date": "May", "explicit": "4", "language": "x"})
@example(values={"track_number": "1/2", "track_total": "3"})
@example(values={"track_number": "²", "explicit": "²", "disc_number": "-1", "disc_total": "0"})
def test_any_text_is_read_back_or_reported(shelf: Path, container: str, name: str, values: dict[str, str]) -> None:
    """Silence is never a pass: each value reads back equal, or the report names its field."""
    with tempfile.TemporaryDirectory() as folder:
        path = copy(shelf, name, Path(folder))
        report = embed(path, container, values)
        if container in LOSSLESS:
            assert audio(path) == audio(shelf / name)
    reported = {line.partition(":")[0].partition(" ")[0] for line in report.differs} | set(report.not_stored)
    for field, text in values.items():
        held_nowhere = FIELDS[field].of_file and container != "wav"
        assert report.written.get(field) == text or field in reported or held_nowhere


@pytest.mark.parametrize(("container", "name"), list(CONTAINERS.items()))
@settings(max_examples=15, suppress_health_check=list(HealthCheck), derandomize=True)
@given(text=ANY_TEXT.filter(lambda text: "\0" not in text))
def test_titles_in_any_script_are_read_back(shelf: Path, container: str, name: str, text: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        report = embed(copy(shelf, name, Path(folder)), container, {"title": text, "artist": text, "upc": text})
    assert {report.written["title"], report.written["artist"], report.written["upc"]} == {text}


@every_file
def test_nothing_to_write_changes_not_a_byte(shelf: Path, tmp_path: Path, container: str, name: str) -> None:
    path = copy(shelf, name, tmp_path)
    report = embed(path, container, {"title": ""})
    assert (report.written.get("title"), report.not_stored, report.differs) == (None, (), ())
    assert path.read_bytes() == (shelf / name).read_bytes()


FLOAT = struct.pack("<HHIIHH", 3, 1, 44_100, 176_400, 4, 32)
EXTENSIBLE = struct.pack("<HHIIHHHHI", 0xFFFE, 2, 96_000, 768_000, 8, 32, 22, 32, 3)


@pytest.mark.parametrize(
    ("fmt", "history"),
    [
        (FLOAT, "A=PCM,F=44100,W=32,M=mono,T=floating point"),
        (EXTENSIBLE + b"\1\0" + bytes(14), "A=PCM,F=96000,W=32,M=stereo"),
        (EXTENSIBLE + b"\3\0" + bytes(14), "A=PCM,F=96000,W=32,M=stereo,T=floating point"),
        (b"", ""),
    ],
)
def test_the_history_of_a_file_that_has_none(tmp_path: Path, fmt: bytes, history: str) -> None:
    """EBU R 98, from the format chunk; extensible headers name the coding in their sub-format."""
    path = tmp_path / "a.wav"
    path.write_bytes(build([(b"fmt ", fmt), (b"data", bytes(8))]))
    assert embed(path, "wav", {"title": "T"}).written.get("coding_history", "") == history


def test_people_of_other_functions_stay_in_the_list(shelf: Path, tmp_path: Path) -> None:
    """ID3v2.4.0 frames, 4.2.2 (TIPL): one frame of pairs; only the pairs of our functions are ours."""
    import mutagen.id3

    path = copy(shelf, "plain.mp3", tmp_path)
    tag = mutagen.id3.ID3()
    tag.add(mutagen.id3.TIPL(encoding=3, people=[["arranger", "Ada"], ["producer", "Old"]]))
    tag.save(path)
    embed(path, "mp3", {"producers": "Tam Varrick; Odile Merrow", "mixers": "Tam Varrick"})
    assert mutagen.id3.ID3(path)["TIPL"].people == [
        ["arranger", "Ada"], ["producer", "Tam Varrick"], ["producer", "Odile Merrow"], ["mix", "Tam Varrick"],
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("stored", "word"), [("1", "explicit"), ("4", "explicit"), ("2", "clean"), ("0", "no"), ("9", "9")]
)
def test_advisory_numbers(shelf: Path, tmp_path: Path, stored: str, word: str) -> None:
    """Habit, no source: 1 explicit (older files 4), 2 clean, 0 neither."""
    import mutagen.flac

    path = copy(shelf, "plain.flac", tmp_path)
    file = mutagen.flac.FLAC(path)
    file["itunesadvisory"] = stored
    file["Album Artist"] = "Merrow"
    file["tracknumber"] = "3/9"
    file.save()
    assert read_tags(path, "flac") == {
        "album_artist": "Merrow", "track_number": "3", "track_total": "9", "explicit": word,
    }  # fmt: skip


@pytest.mark.parametrize("container", list(CONTAINERS))
@pytest.mark.parametrize("content", [b"", b"hello, I am a text file\n" * 9, b"RIFF", b"fLaC", b"OggS", bytes(999)])
def test_a_file_that_is_something_else_is_refused(tmp_path: Path, container: str, content: bytes) -> None:
    path = tmp_path / "not sound"
    path.write_bytes(content)
    with pytest.raises(Unusable, match="not sound"):
        embed(path, container, VALUES)
    with pytest.raises(Unusable, match="not sound"):
        read_tags(path, container)


def test_a_missing_file_is_reported(tmp_path: Path) -> None:
    for container in CONTAINERS:
        with pytest.raises(Unusable, match=r"gone\.wav"):
            read_tags(tmp_path / "gone.wav", container)


def test_the_older_form_of_id3_for_old_players(shelf: Path, tmp_path: Path) -> None:
    """ID3v2.3.0: version byte 3, TYER and TDAT for the date; what it has no frame for has a TXXX frame of its own."""
    import mutagen.id3

    path = copy(shelf, "plain.mp3", tmp_path)
    report = embed(path, "mp3", VALUES | {"title": "Été 🌊"}, None, None, id3_version=2.3)
    assert path.read_bytes()[:5] == b"ID3\x03\x00"
    raw = mutagen.id3.ID3(path, translate=False)
    assert (str(raw["TYER"]), str(raw["TDAT"]), raw.version) == ("2026", "0105", (2, 3, 0))
    assert report.written["title"] == "Été 🌊"
    assert (report.written["release_date"], report.written["producers"]) == (
        VALUES["release_date"],
        VALUES["producers"],
    )
    assert report.differs == ()
    assert (str(raw["TXXX:ORIGINALDATE"]), str(raw["TORY"])) == (VALUES["original_date"], "1999")
    assert str(raw["TXXX:PRODUCEDNOTICE"]) == VALUES["p_line"]
    assert {k: v for k, v in report.written.items() if k != "title"} == {
        k: v for k, v in VALUES.items() if k not in ("title", "dated")
    }
