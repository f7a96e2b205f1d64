"""Nothing else is built than what was approved: the difference is reported, and only a waiver permits it."""

from __future__ import annotations

from pathlib import Path

import pytest
import soundfile as sf

from delivery.__main__ import run
from delivery.intake import load_release
from delivery.model.finding import Answer
from delivery.pipeline import Options, check, resolve_request
from tests.albums import Song, write_album, write_song, write_spec

SONGS = [Song(title, seconds=0.5, seed=at) for at, title in enumerate(("One", "Two", "Salt Road"), start=1)]
SINCE = "Imke Sandvoort approved"


@pytest.fixture
def album(tmp_path: Path) -> Path:
    write_spec(tmp_path, "native", "{bits: {must: [24]}}", "{}")
    album = write_album(tmp_path, SONGS, ["native"])
    assert run(["approve", str(album), "--by", "Imke Sandvoort", "--date", "2026-05-12"]) == 0
    return album


def changed(album: Path, before: str, after: str) -> None:
    text = album.read_text(encoding="utf-8")
    head, tracks = text.split("tracks:", 1)
    assert before in tracks
    album.write_text(f"{head}tracks:{tracks.replace(before, after, 1)}", encoding="utf-8")


def refused(album: Path) -> list[str]:
    """What the rule found; empty if everything is as approved."""
    findings = check(resolve_request(album), Options()).findings
    return [one.found for one in findings if one.rule == "approved" and one.answer is Answer.NOT_MET]


def built(album: Path, *more: str) -> int:
    return run(["build", str(album), "--into", str(album.parent / "out"), "--replace", *more])


def test_what_was_approved_is_built(album: Path) -> None:
    assert refused(album) == []
    assert built(album) == 0


def test_other_audio_is_refused_with_the_difference_until_it_is_waived(
    album: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write_song(album.parent, 3, Song("Salt Road", seconds=0.5, seed=9))
    assert refused(album) == [f"track 3 'Salt Road' has other audio than {SINCE} on 2026-05-12"]
    assert built(album) == 1
    assert not (album.parent / "out").exists()
    said = " ".join(capsys.readouterr().out.split())
    assert "track 3 'Salt Road' has other audio" in said
    waiver = ["--by", "T. Mirefield", "--why", "agreed by telephone"]
    assert run(["waive", str(album), "approved:2", *waiver]) == 0
    assert built(album) == 1
    assert run(["waive", str(album), "approved:3", *waiver]) == 0
    assert built(album) == 0
    for name in ("mail.txt", "delivery-sheet.html", "delivery-data.json"):
        paper = next((album.parent / "out").glob(f"*/data/{name}")).read_text(encoding="utf-8")
        assert "These masters are approved" not in paper
        assert "Tracks that differ, by audio hash: 3 (approved" in " ".join(paper.split())


def test_swapped_tracks_are_named(album: Path) -> None:
    changed(album, "01 One.wav", "x.wav")
    changed(album, "02 Two.wav", "01 One.wav")
    changed(album, "x.wav", "02 Two.wav")
    assert refused(album) == [
        f"track 1 'One' has other audio than {SINCE} on 2026-05-12, that of track 2 there",
        f"track 2 'Two' has other audio than {SINCE} on 2026-05-12, that of track 1 there",
    ]


def test_a_changed_title_and_code_are_named(album: Path) -> None:
    changed(album, "title: Two", "title: Too")
    changed(album, "ZZOSL2600003", "ZZOSL2600007")
    assert refused(album) == [
        f"title of track 2 changed from 'Two' to 'Too' since {SINCE} it on 2026-05-12",
        f"ISRC of track 3 changed since {SINCE} it on 2026-05-12",
    ]


def test_a_track_more_or_less_is_named(album: Path) -> None:
    text = album.read_text(encoding="utf-8")
    write_song(album.parent, 4, Song("Four", seconds=0.5, seed=4))
    changed(album, "- file: 03", "- file: 04 Four.wav\n  title: Four\n- file: 03")
    assert any(found.startswith("track 3 'Four' has other audio") for found in refused(album))
    assert refused(album)[-1] == f"track 4 'Salt Road' was not there when {SINCE} the release on 2026-05-12"
    at = text.index("- file: 03", text.index("tracks:\n"))
    end = text.find("\napproved:", at)
    album.write_text(text[:at] + (text[end + 1 :] if end > 0 else ""), encoding="utf-8")
    assert refused(album) == ["2 tracks; Imke Sandvoort approved 3"]


def test_another_container_and_new_tags_are_no_other_audio(album: Path) -> None:
    """The same samples as FLAC, and with a code in the file's own tags."""
    from mutagen.flac import FLAC

    sound, rate_hz = sf.read(album.parent / "02 Two.wav", dtype="int32")
    sf.write(album.parent / "02 Two.flac", sound, rate_hz, subtype="PCM_24")
    tagged = FLAC(album.parent / "02 Two.flac")
    tagged["isrc"] = "ZZOSL2600002"
    tagged.save()
    changed(album, "02 Two.wav", "02 Two.flac")
    assert refused(album) == []


def test_what_was_not_supplied_then_may_be_supplied_since(album: Path) -> None:
    changed(album, "title: Two", "title: Two\n  iswc: T-034.524.680-1")
    assert refused(album) == []


def test_an_approval_edited_by_hand_is_no_approval_of_this_audio(album: Path) -> None:
    text = album.read_text(encoding="utf-8")
    given = load_release(album).approval
    assert given
    album.write_text(text.replace(given.audio_hashes[1], "0" * 64), encoding="utf-8")
    assert refused(album) == [f"track 2 'Two' has other audio than {SINCE} on 2026-05-12"]
    album.write_text(text.replace('title: "Two", fields', 'title: "Other", fields'), encoding="utf-8")
    assert len(refused(album)) == 1
    album.write_text(text.replace('"isrc=', '"isrc='), encoding="utf-8")
    assert refused(album) == []
    album.write_text(text.replace("isrc=", "isrc=zz"), encoding="utf-8")
    assert run(["check", str(album)]) == 2


def test_an_older_approval_is_about_audio_alone(album: Path) -> None:
    text = album.read_text(encoding="utf-8")
    start, end = text.index(", label_copy: ["), text.rindex("}]")
    album.write_text(text[:start] + text[end + 2 :], encoding="utf-8")
    given = load_release(album).approval
    assert given
    assert given.label_copy == ()
    changed(album, "title: Two", "title: Too")
    assert refused(album) == []
