"""What a delivered file carries besides its samples: label copy, what the spec lets through, and nothing else."""

from __future__ import annotations

import hashlib
import struct
from pathlib import Path

import pytest
import soundfile
from ruamel.yaml import YAML

from delivery.formats import carried as carried_module
from delivery.formats.carried import items_of
from delivery.model.finding import Answer, Result
from delivery.model.part import Part
from delivery.pipeline import Built, Options, build, check, resolve_request
from tests import dirty
from tests.signals import noise
from tests.tags.sounds import chunks

SPEC = """\
title: {name}
about: Only for tests.
checked: 2026-11-25
source: common practice, no source
requires: {{container: {{must: [{container}]}}, coding: {{must: [{coding}]}}{more}, tags_as_label_copy: {{must: true}}}}
convert: {{rate: any, depth: lower, gain: never}}
{rest}
"""
CODINGS = {"wav": "pcm", "aiff": "pcm", "flac": "pcm", "mp3": "mp3", "m4a": "aac", "opus": "opus"}
EVERY = pytest.mark.parametrize("container", list(dirty.MAKERS))


def spec(folder: Path, name: str, container: str, rest: str, more: str = "") -> None:
    bitrate = "" if CODINGS[container] == "pcm" or "encode" in rest else "encode: {bitrate_kbps: 128}\n"
    text = SPEC.format(name=name, container=container, coding=CODINGS[container], more=more, rest=bitrate + rest)
    (folder / f"{name}.yaml").write_text(text, encoding="utf-8")


def album(folder: Path, master: Path, specs: list[str], **track: object) -> Path:
    release = {
        "title": "Harbour Arithmetic", "artist": "Merrow & the Glass Tide", "catalogue_number": "OSL-014",
        "dated": "2026-08-03", "deliver_to": specs,
        "tracks": [{"file": master.name, "title": "Slack Water", "isrc": "ZZOSL2600001", **track}],
    }  # fmt: skip
    path = folder / "release.yaml"
    with path.open("w", encoding="utf-8") as file:
        YAML().dump(release, file)
    return path


def built(release: Path, into: Path) -> Built:
    into.mkdir(exist_ok=True)
    return build(resolve_request(release), into, Options())


def shipped(made: Built, name: str) -> tuple[Part, bytes]:
    (part,) = made.delivery.of_spec(name)
    assert part.shipped, (part.problem, [f for f in part.findings if f.answer is not Answer.MET])
    assert made.package
    return part, (made.package / part.shipped.path).read_bytes()


@pytest.mark.thorough(2)
@EVERY
def test_no_old_identity_ships_in_a_copy(tmp_path: Path, container: str) -> None:
    """None of the old texts is anywhere in the file's bytes, whether or not label copy is embedded; all are listed.

    Bytes are searched, so no reader of tags can overlook a place.
    """
    master = dirty.MAKERS[container](tmp_path / f"master{dirty.SUFFIXES[container]}")
    before = master.read_bytes()
    spec(tmp_path, "tagged", container, "embed_tags: true")
    spec(tmp_path, "bare", container, "embed_tags: false")
    made = built(album(tmp_path, master, ["tagged", "bare"]), tmp_path / "out")
    for name in ("tagged", "bare"):
        part, data = shipped(made, name)
        assert dirty.entries_by(data) == [], name
        assert b"somebody" not in data, name
        listed = {item.text for item in part.passage.removed}
        assert set(dirty.entries_by(before)) - listed == set(), name
        assert (b"Slack Water" in data) is (name == "tagged")
        assert part.result is Result.READY
    assert master.read_bytes() == before


@pytest.mark.thorough(2)
@EVERY
def test_no_old_identity_ships_in_what_is_made_from_a_master(tmp_path: Path, container: str) -> None:
    master = dirty.wav(tmp_path / "master.wav")
    more = ", bits: {must: [16]}" if CODINGS[container] == "pcm" else ""
    spec(tmp_path, "tagged", container, "embed_tags: true", more)
    spec(tmp_path, "bare", container, "embed_tags: false", more)
    made = built(album(tmp_path, master, ["tagged", "bare"]), tmp_path / "out")
    for name in ("tagged", "bare"):
        part, data = shipped(made, name)
        assert dirty.entries_by(data) == []
        assert dirty.IXML not in data
        assert {"cue_points", "loops", "ixml", "unknown"} <= {item.kind for item in part.passage.removed}
        assert b"bext" not in data or name == "tagged", "no broadcast chunk where nothing is embedded"


def test_two_recipients_get_the_same_metadata(tmp_path: Path) -> None:
    """A copy and files made from the same master, all read by another library; AAC's exact length is no metadata."""
    taglib = pytest.importorskip("taglib", reason="outside judge not installed: pytaglib")
    master = dirty.wav(tmp_path / "master.wav")
    names = ("wav", "flac", "aiff", "mp3", "m4a", "opus")
    for name in names:
        spec(tmp_path, f"to-{name}", name, "embed_tags: true")
    made = built(album(tmp_path, master, [f"to-{name}" for name in names]), tmp_path / "out")
    assert made.package
    found = {}
    for name in names:
        part, _ = shipped(made, f"to-{name}")
        assert part.shipped
        with taglib.File(made.package / part.shipped.path) as file:
            found[name] = {
                key: texts
                for key, texts in file.tags.items()
                if key not in ("TRACKTOTAL", "DISCTOTAL", "TRACKNUMBER", "DISCNUMBER", "RELEASEDATE", "ITUNSMPB")
            }
    assert found["wav"]["TITLE"] == ["Slack Water"]
    for name, tags in found.items():
        assert tags == found["wav"], name


@pytest.mark.parametrize(
    ("kinds", "rest"),
    [
        ({"identity": False, "chunk_list": False, "with_bext": False}, ""),
        ({"identity": False, "chunk_list": False, "with_bext": True}, ""),
        ({"identity": False, "chunk_list": True}, "keep_chunks: [cue_points, loops, ixml, unknown]"),
        (
            {"identity": True, "chunk_list": False},
            "keep_tags: [bext, comments, lyrics, pictures, replay_gain, others]",
        ),
    ],
    ids=["nothing", "bext", "chunks", "another song's tags"],
)
def test_a_copy_that_needs_nothing_is_the_master_byte_for_byte(tmp_path: Path, kinds: dict, rest: str) -> None:
    """The delivered file has the master's own SHA-256 unless another song's identity has to go."""
    master = dirty.wav(tmp_path / "master.wav", **kinds)
    spec(tmp_path, "bare", "wav", f"embed_tags: false\n{rest}")
    made = built(album(tmp_path, master, ["bare"]), tmp_path / "out")
    part, data = shipped(made, "bare")
    assert part.shipped
    talks = {dirty.OLD["title"]} if kinds["chunk_list"] else set()  # iXML, which the spec lets through
    same = part.shipped.sha256 == hashlib.sha256(master.read_bytes()).hexdigest()
    assert same is (not kinds["identity"])
    assert same is not any(item.field for item in part.passage.removed)
    assert set(dirty.entries_by(data)) == ({dirty.OLD["comment"], dirty.OLD["lyrics"]} if kinds["identity"] else talks)


@pytest.mark.thorough(2)
@pytest.mark.parametrize("container", ["aiff", "flac", "mp3", "m4a", "opus"])
def test_other_containers_are_copied_byte_for_byte_too(tmp_path: Path, container: str) -> None:
    """A master whose tags were removed by a first build needs nothing in a second."""
    master = dirty.MAKERS[container](tmp_path / f"master{dirty.SUFFIXES[container]}")
    spec(tmp_path, "bare", container, "embed_tags: false")
    _, clean = shipped(built(album(tmp_path, master, ["bare"]), tmp_path / "out"), "bare")
    master.write_bytes(clean)
    again = built(album(tmp_path, master, ["bare"]), tmp_path / "again")
    part, data = shipped(again, "bare")
    assert data == clean
    assert part.passage.removed == ()


def test_unread_tags_are_not_measured_rather_than_met(tmp_path: Path) -> None:
    """The tags of a W64 file are not read here, so nothing can be answered about them."""
    master = tmp_path / "master.w64"
    soundfile.write(master, noise(44_100, 1.0) / 4, 44_100, subtype="PCM_24", format="W64")
    rules = "channels: {must: [2]}, tags_as_label_copy: {must: true}"
    text = "title: Any\nabout: Only for tests.\nchecked: 2026-11-25\nsource: common practice, no source\n"
    (tmp_path / "any.yaml").write_text(
        f"{text}requires: {{{rules}}}\nconvert: {{}}\nembed_tags: false\n", encoding="utf-8"
    )
    (part,) = check(resolve_request(album(tmp_path, master, ["any"])), Options()).parts
    (found,) = (finding for finding in part.findings if finding.rule == "tags_as_label_copy")
    assert found.answer is Answer.NOT_MEASURED


def test_entries_of_the_broadcast_chunk_stay_or_are_listed(tmp_path: Path) -> None:
    """EBU Tech 3285: label copy takes its fields; UMID, time reference and history stay, all else is listed."""
    master = dirty.wav(tmp_path / "master.wav", identity=False, chunk_list=False)
    spec(tmp_path, "tagged", "wav", "embed_tags: true")
    part, data = shipped(built(album(tmp_path, master, ["tagged"]), tmp_path / "out"), "tagged")
    body = dict(chunks(data))[b"bext"]
    assert body[348:412] == dirty.UMID
    assert body[256:288].rstrip(b"\0") == dirty.ORIGINATOR.encode()  # the release names no label
    assert struct.unpack_from("<Q", body, 338)[0] == 48_000 * 3600
    assert body[602:].rstrip(b"\0").decode() == "A=PCM,F=48000,W=24,M=stereo,T=bounce\r\n"
    reported = {each.item.place: (each.item.text, each.now) for each in part.passage.replaced}
    assert reported == {
        "bext Description": (dirty.DESCRIPTION, "Slack Water"),
        "bext OriginatorReference": ("REF-7", "ZZOSL2600001"),
        "bext OriginationDate": ("2025-12-24", "2026-08-03"),
    }
    assert [item.place for item in part.passage.removed] == ["bext OriginationTime"]  # of another day


@pytest.mark.parametrize(
    ("description", "reference", "stays"),
    [
        ("take 7, chapel", "REF-7", True),
        ("take 7, chapel", "ZZOSL2600001", True),
        ("Slack Water", "REF-7", True),
        ("take 7, chapel", "QZABC2400001", False),
        ("QZ-ABC-24-00001 bounce", "REF-7", False),
        ("Tally Sticks - bounce 3", "REF-7", False),
    ],
)
def test_the_broadcast_chunk_names_no_other_recording(
    tmp_path: Path, description: str, reference: str, stays: bool
) -> None:
    """Provenance stays in a copy; another recording's code, or the title its other tags had, does not."""
    master = dirty.wav(tmp_path / "master.wav", identity=True, chunk_list=False, with_bext=False)
    raw = [(name, body) for name, body in chunks(master.read_bytes()) if name != b"bext"]
    from tests.tags.sounds import build as packed

    master.write_bytes(packed([raw[0], (b"bext", dirty.bext(description, reference)), *raw[1:]]))
    spec(tmp_path, "bare", "wav", "embed_tags: false")
    _, data = shipped(built(album(tmp_path, master, ["bare"]), tmp_path / "out"), "bare")
    body = dict(chunks(data))[b"bext"]
    assert (description.encode() in body and reference.encode() in body) is stays
    assert body[348:412] == dirty.UMID
    assert dirty.entries_by(data) == []


def test_positions_are_scaled_to_the_new_rate(tmp_path: Path) -> None:
    """48 to 44.1 kHz: every place times 147/160, the time reference too; another library reads them back."""
    wavinfo = pytest.importorskip("wavinfo", reason="outside judge not installed: wavinfo")
    master = dirty.wav(tmp_path / "master.wav", identity=False)
    rest = "embed_tags: true\nkeep_chunks: [cue_points, loops, ixml, unknown]"
    spec(tmp_path, "cd", "wav", rest, ", rate_hz: {must: [44100]}, bits: {must: [16]}")
    made = built(album(tmp_path, master, ["cd"]), tmp_path / "out")
    part, data = shipped(made, "cd")
    assert made.package
    assert part.shipped
    read = wavinfo.WavInfoReader(str(made.package / part.shipped.path))
    cues = sorted((cue.name, cue.sample_offset) for cue in read.cues.cues)
    assert [at for _, at in cues] == [4_410, 22_050]
    assert {label.text for label in read.cues.labels} == {"verse", "chorus"}
    assert [note.length for note in read.cues.ranges] == [8_820]
    (loop,) = read.smpl.sample_loops
    assert (loop.start, loop.end) == (4_410, 8_819)
    assert read.bext.time_reference == 44_100 * 3600
    assert bytes.fromhex(dirty.UMID.hex()) == dict(chunks(data))[b"bext"][348:412]
    assert dict(chunks(data))[b"iXML"] == dirty.IXML
    assert dict(chunks(data))[b"LGWV"] == b"\1\2\3\4"
    history = read.bext.coding_history.rstrip("\0").splitlines()
    assert history[0] == "A=PCM,F=48000,W=24,M=stereo,T=bounce"
    assert len(history) == 2
    assert {"cue_points", "loops", "ixml", "unknown"} == {i.kind for i in part.passage.kept if i.kind != "bext"}


def marks(data: bytes) -> list[tuple[int, str]]:
    """Markers of an AIFF, read by hand after AIFF 1.3: id, position, Pascal string padded to even length."""
    body = dict(chunks(data))[b"MARK"]
    found, at = [], 2
    for _ in range(struct.unpack_from(">H", body)[0]):
        _, place, length = struct.unpack_from(">HIB", body, at)
        found.append((place, body[at + 7 : at + 7 + length].decode()))
        at += 7 + length + (length + 1) % 2
    assert at == len(body)
    return found


def test_cue_points_become_markers_and_markers_cue_points(tmp_path: Path) -> None:
    rest = "embed_tags: true\nkeep_chunks: [cue_points]"
    there, back = tmp_path / "there", tmp_path / "back"
    there.mkdir()
    back.mkdir()
    spec(there, "aiff", "aiff", rest, ", rate_hz: {must: [44100]}")
    _, data = shipped(built(album(there, dirty.wav(there / "m.wav"), ["aiff"]), there / "out"), "aiff")
    assert marks(data) == [(4_410, "verse"), (22_050, "chorus")]
    spec(back, "wav", "wav", rest)
    _, data = shipped(built(album(back, dirty.aiff(back / "m.aiff"), ["wav"]), back / "out"), "wav")
    cue = dict(chunks(data))[b"cue "]
    assert [struct.unpack_from("<II4sIII", cue, 4 + 24 * i)[5] for i in range(2)] == [4_800, 24_000]
    assert b"verse\0" in data


@pytest.mark.parametrize("container", ["wav", "flac", "mp3", "m4a", "opus", "aiff"])
def test_comments_and_lyrics_pass_where_the_spec_lets_them(tmp_path: Path, container: str) -> None:
    master = dirty.wav(tmp_path / "master.wav")
    spec(tmp_path, "kept", container, "embed_tags: true\nkeep_tags: [comments, lyrics]")
    part, data = shipped(built(album(tmp_path, master, ["kept"]), tmp_path / "out"), "kept")
    assert sorted(dirty.entries_by(data)) == sorted([dirty.OLD["comment"], dirty.OLD["lyrics"]])
    assert {item.kind for item in part.passage.kept} == {"comments", "lyrics"}


def test_check_predicts_the_build(tmp_path: Path) -> None:
    release = album(tmp_path, dirty.wav(tmp_path / "master.wav"), ["tagged", "bare", "flac"])
    spec(tmp_path, "tagged", "wav", "embed_tags: true\nkeep_chunks: [cue_points]")
    spec(tmp_path, "bare", "wav", "embed_tags: false")
    spec(tmp_path, "flac", "flac", "embed_tags: true")
    planned = check(resolve_request(release), Options())
    made = built(release, tmp_path / "out").delivery
    for before, after in zip(planned.parts, made.parts, strict=True):
        assert before.passage == after.passage
        assert [f.answer for f in before.findings] == [f.answer for f in after.findings]


def test_a_file_that_still_names_another_recording_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The rule checks what was read back, not what was intended: here nothing is taken away."""
    release = album(tmp_path, dirty.flac(tmp_path / "master.flac"), ["bare"])
    spec(tmp_path, "bare", "flac", "embed_tags: false")
    monkeypatch.setattr(carried_module, "unwanted", lambda *_: ())
    (part,) = built(release, tmp_path / "out").delivery.parts
    assert part.shipped is None
    short = [finding for finding in part.findings if finding.answer is Answer.NOT_MET]
    assert {finding.rule for finding in short} == {"tags_as_label_copy"}
    assert any(finding.found == f"ISRC '{dirty.OLD['isrc']}'" for finding in short)


def test_an_unreadable_tag_is_removed_with_its_chunk(tmp_path: Path) -> None:
    from tests.tags.sounds import build as packed

    master = dirty.wav(tmp_path / "m.wav", identity=False, chunk_list=False)
    broken = b"ID3\x04\0\0\x7f\x7f\x7f\x7f" + b"TIT2" + bytes(40)
    master.write_bytes(packed([*chunks(master.read_bytes()), (b"id3 ", broken)]))
    assert any("cannot be read" in item.text for item in items_of(master))
    spec(tmp_path, "bare", "wav", "embed_tags: false")
    _, data = shipped(built(album(tmp_path, master, ["bare"]), tmp_path / "out"), "bare")
    assert b"id3 " not in dict(chunks(data))


def test_cue_points_move_with_the_songs_of_a_side(tmp_path: Path) -> None:
    """Two songs of a side, a second of gap between them, 48 to 44.1 kHz: places scaled, then moved to the song."""
    masters = [dirty.wav(tmp_path / f"{n}.wav", frames=dirty.FRAMES + n) for n in (1, 2)]
    text = SPEC.format(
        name="side",
        container="wav",
        coding="pcm",
        more=", rate_hz: {must: [44100]}",
        rest="embed_tags: false\nkeep_chunks: [cue_points]\nname: '{part}'\ncarrier: {kind: vinyl}",
    )
    (tmp_path / "side.yaml").write_text(text, encoding="utf-8")
    release = album(tmp_path, masters[0], ["side"])
    reported = YAML().load(release)
    reported["tracks"][0]["side"] = "A"
    reported["tracks"].append(
        {"file": "2.wav", "title": "Neap", "isrc": "ZZOSL2600002", "gap_before_s": 1, "side": "A"}
    )
    with release.open("w", encoding="utf-8") as file:
        YAML().dump(reported, file)
    made = built(release, tmp_path / "out")
    (image,) = made.delivery.images
    assert made.package
    assert image.shipped, (image.problem, image.findings)
    data = (made.package / image.shipped.path).read_bytes()
    assert dirty.entries_by(data) == []
    begins = [song.begins for song in image.programme.songs]
    cue = dict(chunks(data))[b"cue "]
    rows = [struct.unpack_from("<II4sIII", cue, 4 + 24 * i) for i in range(4)]
    assert [row[5] for row in rows] == [b + at for b in begins for at in (4_410, 22_050)]
    assert [row[0] for row in rows] == [1, 2, 3, 4]
    assert data.count(b"verse\0") == 2
    assert {item.kind for part in made.delivery.parts for item in part.passage.kept} == {"cue_points"}
    assert {"loops", "ixml", "label_copy"} <= {i.kind for part in made.delivery.parts for i in part.passage.removed}


def test_what_a_requirement_is_about_stays(tmp_path: Path) -> None:
    """A spec that requires a time reference or loop points gets them, though it names nothing that may stay."""
    master = dirty.wav(tmp_path / "master.wav")
    required = ", loop_points: {should: inside}, time_reference: {should: {at_least: 0}}"
    spec(tmp_path, "looped", "wav", "embed_tags: false\nkeep_tags: []", required)
    part, data = shipped(built(album(tmp_path, master, ["looped"]), tmp_path / "out"), "looped")
    assert {item.kind for item in part.passage.kept} == {"bext", "loops"}
    assert dict(chunks(data))[b"smpl"] == dirty.smpl()
    assert b"cue " not in dict(chunks(data))


def test_a_cue_sheet_of_another_recording_is_removed_whole(tmp_path: Path) -> None:
    """RFC 9639, CUESHEET: codes and points are in one block; the check reads it too."""
    release = album(tmp_path, dirty.flac(tmp_path / "master.flac"), ["kept"])
    spec(tmp_path, "kept", "flac", "embed_tags: false\nkeep_chunks: [cue_points]")
    (planned,) = check(resolve_request(release), Options()).parts
    part, _ = shipped(built(release, tmp_path / "out"), "kept")
    assert planned.passage == part.passage
    assert "FLAC CUESHEET" in {item.place for item in part.passage.removed if item.kind == "cue_points"}
