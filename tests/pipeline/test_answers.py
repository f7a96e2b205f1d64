"""A client's answer becomes an approval and open entries of the QC log, or nothing at all."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from delivery.__main__ import run
from delivery.intake import load_release
from delivery.meters import identify
from delivery.model.approval import seen_hash
from delivery.model.copy_marks import copy_marks
from delivery.model.release import LogEntry, Release
from tests.albums import Song, write_album, write_song, write_spec

SONGS = [Song(title, seconds=3, seed=at) for at, title in enumerate(("One", '<b>Two</b> & "x"', "Salt Road"), start=1)]
BY = "Imke Sandvoort"


@pytest.fixture
def album(tmp_path: Path) -> Path:
    write_spec(tmp_path, "native", "{bits: {must: [24]}}", "{}")
    named = [Song(song.title, seconds=song.seconds, seed=song.seed) for song in SONGS]
    named[1].title, named[1].extra = "Two", {"title": SONGS[1].title}
    album = write_album(tmp_path, named, ["native"])
    album.write_text(album.read_text(encoding="utf-8") + "# the engineer's own comment\n", encoding="utf-8")
    return album


def answer(album: Path, **changes: Any) -> dict[str, Any]:
    """As the form makes it: 1 approved, a change of 2 at two places, 3 left open."""
    release = load_release(album)
    tracks = [
        {
            "number": str(track.position),
            "title": track.title,
            "audio_hash": str(identify(track.file).value("audio_hash")),
            "approved": track.position == 1,
            "requests": [],
        }
        for track in release.tracks
    ]
    tracks[1]["requests"] = [
        {"at": "0:01.4", "what": 'more bass: "low" <i>end</i> # 3'},
        {"at": "", "what": "fade\nlater"},
    ]
    return {
        "form": "delivery-approval/1",
        "release": "Merrow: Harbour Arithmetic",
        "revision": 1,
        "by": BY,
        "date": "2026-05-12",
        "label_copy": seen_hash(copy_marks(release)),
        "remark": "",
        "tracks": tracks,
    } | changes


def approve(album: Path, data: dict[str, Any] | str, *more: str) -> int:
    file = album.parent / ("answer.txt" if isinstance(data, str) else "answer.json")
    file.write_text(data if isinstance(data, str) else json.dumps(data), encoding="utf-8")
    return run(["approve", str(album), "--from", str(file), *more])


def approved(release: Release) -> tuple[int, ...]:
    return release.approval.tracks if release.approval else ()


def test_the_file_of_the_form_is_stored(album: Path) -> None:
    before = album.read_text(encoding="utf-8")
    data = answer(album)
    assert approve(album, data) == 0
    release = load_release(album)
    assert approved(release) == (1,)
    assert release.approval
    assert release.approval.given_for(1) == (BY, release.approval.dated)
    assert release.qc_log == (
        LogEntry('more bass: "low" <i>end</i> # 3', BY, track=2, at_s=1.4),
        LogEntry("fade later", BY, track=2),
    )
    text = album.read_text(encoding="utf-8")
    assert "# the engineer's own comment" in text
    assert set(before.splitlines()) <= set(text.splitlines())
    assert approve(album, data) == 0
    assert album.read_text(encoding="utf-8") == text, "the same answer again changes nothing"


def test_a_mail_is_stored_and_approvals_add_up(album: Path) -> None:
    mail = ("--by", BY, "--date", "2026-05-12")
    assert approve(album, "1 ok, 3: more bass at 0:01.4", *mail) == 0
    assert approve(album, "2 ok", "--by", "A. Other", "--date", "2026-05-14") == 0
    release = load_release(album)
    assert approved(release) == (1, 2)
    assert release.approval
    assert [release.approval.given_for(at)[0] for at in (1, 2)] == [BY, "A. Other"]
    assert [(one.track, one.at_s, one.decision) for one in release.qc_log] == [(3, 1.4, "")]
    assert not release.approval.copy_at(0).title, "the release's own label copy is approved with the last track"
    assert approve(album, "3 ok", *mail) == 0
    release = load_release(album)
    assert approved(release) == (1, 2, 3)
    assert release.approval
    assert release.approval.copy_at(0).title == release.title


def test_a_requested_change_takes_an_approval_back(album: Path) -> None:
    mail = ("--by", BY, "--date", "2026-05-12")
    assert approve(album, "all ok", *mail) == 0
    assert approve(album, "2: shorter fade", *mail) == 0
    assert approved(load_release(album)) == (1, 3)
    assert approve(album, "1: louder\n3: louder", *mail) == 0
    assert load_release(album).approval is None
    assert "approved:" not in album.read_text(encoding="utf-8")


def test_sheet_and_check_after_a_partial_answer(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert approve(album, answer(album)) == 0
    capsys.readouterr()
    assert run(["check", str(album)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert f"Track 1 approved: {BY}, 2026-05-12." in said
    assert "Not approved yet: tracks 2 and 3." in said


def swapped(data: dict[str, Any]) -> None:
    one, two = data["tracks"][0], data["tracks"][1]
    one["audio_hash"], two["audio_hash"] = two["audio_hash"], one["audio_hash"]


ATTACKS = {
    "swapped tracks": (swapped, "which is track 2 now"),
    "an edited hash": (lambda data: data["tracks"][0].update(audio_hash="0" * 64), "which this release does not have"),
    "other label copy": (lambda data: data.update(label_copy="0" * 12), "other titles, credits or codes"),
    "another revision": (lambda data: data.update(revision=2), "an answer to revision 2"),
    "another form": (lambda data: data.update(form="delivery-approval/2"), "delivery-approval/2"),
    "a key more": (lambda data: data.update(waive=True), "waive"),
    "a track that is none": (lambda data: data["tracks"][2].update(number="9"), "other audio of track 9"),
    "a track twice": (lambda data: data["tracks"].append(data["tracks"][0]), "a track number twice"),
    "approved and not": (lambda data: data["tracks"][1].update(approved=True), "approved, with a change requested"),
    "a time after the end": (
        lambda data: data["tracks"][1]["requests"][0].update(at="9:00"),
        "the time 9:00 in track 2",
    ),
    "a time that is none": (  # the pattern of the schema says nothing to whoever reads it
        lambda data: data["tracks"][1]["requests"][0].update(at="soon"),
        "tracks 2 requests 1 at: found 'soon', wanted the file as the sheet made it",
    ),
    "no such day": (lambda data: data.update(date="2026-02-30"), "2026-02-30"),
    "nobody": (lambda data: data.update(by=" "), "by"),
}


@pytest.mark.thorough(3)
@pytest.mark.parametrize("name", ATTACKS)
def test_an_edited_answer_is_refused_whole(album: Path, name: str, capsys: pytest.CaptureFixture[str]) -> None:
    change, found = ATTACKS[name]
    data = answer(album)
    change(data)
    before = album.read_bytes()
    assert approve(album, data) == 2
    assert found in capsys.readouterr().err
    assert album.read_bytes() == before


def test_an_answer_to_earlier_audio_is_refused(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = answer(album)
    write_song(album.parent, 1, Song("One", seconds=3, seed=9))
    before = album.read_bytes()
    assert approve(album, data) == 2
    assert "other audio of track 1" in capsys.readouterr().err
    heard = data["tracks"][0]["audio_hash"][:8]
    assert approve(album, f"Audio: 1 {heard}\n1 ok", "--by", BY, "--date", "2026-05-12") == 2
    assert album.read_bytes() == before


@pytest.mark.parametrize(
    ("content", "found"),
    [
        (b"{" * 200_000, "no valid JSON"),
        (b'{"form": "delivery-approval/1", "form": "delivery-approval/1"}', "a key twice"),
        (b" " * 300_000, "more than 262,144 bytes"),
        (b"\xff\xfe1 ok", "no UTF-8 text"),
        (b"1 ok\0", "no text"),
        (b"1 ok\n4 ok", "track 4"),
        (b"> sounds, revision 2\n\n1 ok", ""),
    ],
    ids=["deep", "twice", "huge", "no text", "zero", "no such track", "quoted"],
)
def test_files_that_are_no_answer(album: Path, content: bytes, found: str, capsys: pytest.CaptureFixture[str]) -> None:
    file = album.parent / "answer"
    file.write_bytes(content)
    before = album.read_bytes()
    assert run(["approve", str(album), "--from", str(file), "--by", BY, "--date", "2026-05-12"]) == 2
    assert found in capsys.readouterr().err
    assert album.read_bytes() == before


def test_a_mail_states_no_name_and_no_day(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert approve(album, "all ok", "--by", BY) == 2
    assert "--date" in capsys.readouterr().err
    assert approve(album, "all ok", "--date", "2026-05-12") == 2
    assert "--by" in capsys.readouterr().err
