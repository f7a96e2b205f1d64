"""delivery revise: a bounce finds its track by sound, then by name; what is doubtful changes nothing."""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile as sf
from ruamel.yaml import YAML

from delivery.__main__ import run
from delivery.errors import Unfinished
from delivery.intake import load_release
from tests.albums import Song, hashes, sound, write_album, write_spec

RATE_HZ = 44_100
TITLES = ("Low Water", "Salt Road", "Glass Tide")


pytestmark = pytest.mark.usefixtures("own_home")


def music(seed: int, seconds: float = 12.0) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Noise whose loudness moves as a song's does, differently for each seed."""
    x = sound(Song("", RATE_HZ, seconds, -20.0, seed=seed))
    steps = np.random.default_rng(100 + seed).uniform(0.1, 1.0, int(seconds * 2) + 2)
    return x * np.interp(np.arange(len(x)) / RATE_HZ * 2, np.arange(len(steps)), steps)[:, None]


@pytest.fixture
def album(tmp_path: Path) -> Path:
    folder = tmp_path / "masters"
    folder.mkdir()
    write_spec(folder, "native", "{bits: {must: [24]}}", "{}")
    songs = [Song(title, RATE_HZ, 0.5, seed=at) for at, title in enumerate(TITLES, start=1)]
    release = write_album(folder, songs, ["native"])
    for at, title in enumerate(TITLES, start=1):
        sf.write(folder / f"{at:02} {title}.wav", music(at), RATE_HZ, subtype="PCM_24")
    text = release.read_text(encoding="utf-8").replace("tracks:", "# the client's order\ntracks:")
    release.write_text(text, encoding="utf-8", newline="\n")
    return release


def bounce(folder: Path, name: str, x: np.ndarray[Any, np.dtype[np.float64]]) -> str:
    path = folder / name
    sf.write(path, x, RATE_HZ, subtype="PCM_24")
    return str(path)


def test_a_bounce_is_found_by_its_sound_whatever_its_name(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """0.8 dB quieter, under a name without a number: its track, its texts, the next revision, the comment kept."""
    before = album.read_text(encoding="utf-8")
    file = bounce(album.parent, "bounce-7.wav", music(2) * 10 ** (-0.8 / 20))
    assert run(["revise", str(album), file]) == 0
    told = capsys.readouterr().out
    assert "Track 2, Salt Road: bounce-7.wav (by sound)." in told
    assert "- Track 2, Salt Road: 0.8 dB quieter." in told
    assert "revision 2 (was 1)" in told
    release = load_release(album)
    assert [track.file.name for track in release.tracks] == ["01 Low Water.wav", "bounce-7.wav", "03 Glass Tide.wav"]
    assert release.revision == 2
    after = album.read_text(encoding="utf-8")
    assert "# the client's order" in after
    gone = set(before.splitlines()) - set(after.splitlines())
    assert {line.strip(" -") for line in gone} == {"file: 02 Salt Road.wav"}


def test_the_date_until_now_is_pointed_out(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A revision of December with November's date would be counted in November."""
    text = album.read_text(encoding="utf-8")
    assert "dated: '2026-08-03'" in text
    file = bounce(album.parent, "bounce-7.wav", music(2) * 0.9)
    assert run(["revise", str(album), file]) == 0
    assert "It is still dated 2026-08-03" in capsys.readouterr().err


def test_another_recording_is_found_by_its_name(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = bounce(album.parent, "Salt Road MASTER v3.wav", music(9))
    assert run(["revise", str(album), file, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [(each["track"], each["how"].partition(":")[0]) for each in told["replaced"]] == [(2, "by name")]


def test_several_at_once(album: Path) -> None:
    files = [bounce(album.parent, f"b{at}.wav", music(at) * 0.9) for at in (3, 1)]
    assert run(["revise", str(album), *files]) == 0
    assert [track.file.name for track in load_release(album).tracks] == ["b1.wav", "02 Salt Road.wav", "b3.wav"]


def test_a_revision_that_was_not_delivered_keeps_its_number(album: Path, tmp_path: Path) -> None:
    """Built as revision 1; then two bounces before the next delivery are one revision."""
    assert run(["build", str(album), "--into", str(tmp_path / "out")]) == 0
    for name, level in (("a.wav", 0.9), ("b.wav", 0.8)):
        assert run(["revise", str(album), bounce(album.parent, name, music(2) * level)]) == 0
    release = load_release(album)
    assert (release.revision, release.tracks[1].file.name) == (2, "b.wav")


DOUBTFUL = [
    ("unknown sound and name", lambda folder: [bounce(folder, "xyz.wav", music(9))], "no track like it"),
    (
        "the sound of one, the name of another",
        lambda folder: [bounce(folder, "Glass Tide v2.wav", music(2) * 0.9)],
        "the sound of track 2, 'Salt Road', the name of track 3, 'Glass Tide'",
    ),
    (
        "two for one track",
        lambda folder: [bounce(folder, "a.wav", music(2) * 0.9), bounce(folder, "b.wav", music(2) * 0.8)],
        "a.wav and b.wav for track 2",
    ),
    ("the master itself", lambda folder: [str(folder / "02 Salt Road.wav")], "the master of track 2 already"),
    ("no sound", lambda folder: [str(folder / "release.yaml")], "release.yaml"),
    ("not there", lambda folder: [str(folder / "nothing.wav")], "nothing.wav"),
    ("no such track", lambda folder: [str(folder / "01 Low Water.wav"), "--track", "7"], "a position from 1 to 3"),
]


@pytest.mark.thorough(2)
@pytest.mark.parametrize(("files", "says"), [each[1:] for each in DOUBTFUL], ids=[each[0] for each in DOUBTFUL])
def test_what_is_doubtful_is_refused_and_nothing_is_written(
    album: Path, capsys: pytest.CaptureFixture[str], files: Any, says: str
) -> None:
    before = album.read_bytes()
    assert run(["revise", str(album), *files(album.parent)]) == 2
    assert says in " ".join(capsys.readouterr().err.split())
    assert album.read_bytes() == before


def test_a_file_that_is_no_sound_is_one_message(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The reader's own message, not one message inside another."""
    junk = album.parent / "junk.wav"
    junk.write_bytes(b"RIFF, or not")
    before = album.read_bytes()
    assert run(["revise", str(album), str(junk)]) == 2
    error = capsys.readouterr().err
    assert error.count("junk.wav: found") == error.count("wanted") == 1
    assert error.endswith("Nothing was written.\n")
    assert album.read_bytes() == before


def test_a_song_and_its_near_twin_are_distinguished_by_name_or_refused(
    album: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two tracks of one recording: sound alone cannot say which of them a bounce is."""
    twin = music(2)
    twin[RATE_HZ * 10 : RATE_HZ * 11] *= 0.98
    sf.write(album.parent / "03 Glass Tide.wav", twin, RATE_HZ, subtype="PCM_24")
    assert run(["revise", str(album), bounce(album.parent, "new.wav", music(2) * 0.9)]) == 2
    assert "track 2, 'Salt Road' and track 3, 'Glass Tide'" in " ".join(capsys.readouterr().err.split())
    assert run(["revise", str(album), bounce(album.parent, "Glass Tide v2.wav", music(2) * 0.9)]) == 0
    assert load_release(album).tracks[2].file.name == "Glass Tide v2.wav"


@pytest.fixture
def bounces(tmp_path: Path) -> Path:
    folder = tmp_path / "bounces"
    folder.mkdir()
    return folder


def master(album: Path, position: int) -> str:
    """As the release file states it."""
    return str(YAML(typ="safe").load(album.read_text(encoding="utf-8"))["tracks"][position - 1]["file"])


def test_a_bounce_from_elsewhere_is_copied_so_that_the_album_can_be_moved(
    album: Path, bounces: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = Path(bounce(bounces, "Salt Road v3.wav", music(2) * 0.9))
    os.utime(file, ns=(10**18, 10**18))
    assert run(["revise", str(album), str(file)]) == 0
    copy = album.parent / "Salt Road v3.wav"
    assert f"Salt Road v3.wav (by sound); copied to {copy}." in capsys.readouterr().out
    assert master(album, 2) == "Salt Road v3.wav"
    assert copy.read_bytes() == file.read_bytes()
    assert copy.stat().st_mtime_ns == 10**18
    shutil.rmtree(bounces)
    album.parent.rename(tmp_path / "moved")
    assert run(["check", str(tmp_path / "moved")]) in (0, 1)


def test_the_copy_lies_beside_the_master_before(album: Path, bounces: Path) -> None:
    below = album.parent / "mixes"
    below.mkdir()
    (album.parent / "02 Salt Road.wav").rename(below / "02 Salt Road.wav")
    album.write_text(album.read_text(encoding="utf-8").replace("02 Salt", "mixes/02 Salt"), encoding="utf-8")
    assert run(["revise", str(album), bounce(bounces, "new.wav", music(2) * 0.9), "--json"]) == 0
    assert master(album, 2) == "mixes/new.wav"
    assert sorted(path.name for path in below.iterdir()) == ["02 Salt Road.wav", "new.wav"]


def test_a_copy_overwrites_nothing(album: Path, bounces: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Of the same name as the master: the copy's name has the revision. That name taken, too: refused."""
    before = hashes(album.parent)
    file = bounce(bounces, "02 Salt Road.wav", music(2) * 0.9)
    assert run(["revise", str(album), file]) == 0
    assert master(album, 2) == "02 Salt Road rev 2.wav"
    after = hashes(album.parent)
    assert {path: after[path] for path in before if path != album.name} == {
        path: before[path] for path in before if path != album.name
    }
    (album.parent / "03 Glass Tide rev 3.wav").write_bytes(b"of somebody else")
    text, after = album.read_bytes(), hashes(album.parent)
    assert run(["revise", str(album), bounce(bounces, "03 Glass Tide.wav", music(3) * 0.9)]) == 2
    assert "'03 Glass Tide rev 3.wav'" in capsys.readouterr().err
    assert album.read_bytes() == text
    assert hashes(album.parent) == after


def test_a_file_that_was_copied_there_already_is_not_copied_again(album: Path, bounces: Path) -> None:
    file = bounce(bounces, "new.wav", music(2) * 0.9)
    shutil.copy(file, album.parent)
    there = {path.name for path in album.parent.iterdir()}
    assert run(["revise", str(album), file]) == 0
    assert master(album, 2) == "new.wav"
    assert {path.name for path in album.parent.iterdir()} == there


def test_two_files_of_one_name_from_two_folders(album: Path, bounces: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    files = [bounce(bounces, "bounce.wav", music(1) * 0.9), bounce(other, "bounce.wav", music(3) * 0.9)]
    assert run(["revise", str(album), *files]) == 0
    assert [master(album, at) for at in (1, 3)] == ["bounce.wav", "bounce rev 2.wav"]
    assert (album.parent / "bounce rev 2.wav").read_bytes() == Path(files[1]).read_bytes()


def test_masters_beside_the_release_folder_stay_there(album: Path, bounces: Path) -> None:
    """The release file leads to them by a relative path; so it does to the new one, and nothing is copied."""
    (album.parent / "02 Salt Road.wav").rename(bounces / "02 Salt Road.wav")
    text = album.read_text(encoding="utf-8").replace("02 Salt Road.wav", "../bounces/02 Salt Road.wav")
    album.write_text(text, encoding="utf-8")
    assert run(["revise", str(album), bounce(bounces, "new.wav", music(2) * 0.9)]) == 0
    assert master(album, 2) == "../bounces/new.wav"
    assert load_release(album).tracks[1].file.is_file()
    assert not (album.parent / "new.wav").exists()


def test_an_absolute_path_is_followed_by_another(album: Path, bounces: Path, tmp_path: Path) -> None:
    """Somebody decided to keep this master elsewhere."""
    shelf = tmp_path / "shelf"
    shelf.mkdir()
    (album.parent / "02 Salt Road.wav").rename(shelf / "02 Salt Road.wav")
    text = album.read_text(encoding="utf-8").replace("02 Salt Road.wav", str(shelf / "02 Salt Road.wav"))
    album.write_text(text, encoding="utf-8")
    file = bounce(bounces, "new.wav", music(2) * 0.9)
    assert run(["revise", str(album), file]) == 0
    assert master(album, 2) == file
    assert not (shelf / "new.wav").exists()


def test_no_copy_stays_where_the_release_file_cannot_be_written(
    album: Path, bounces: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    before = hashes(album.parent)

    def full(path: Path, _: str) -> None:
        raise Unfinished(str(path), "no space", "a disk with space", "Nothing was changed.")

    monkeypatch.setattr("delivery.tasks.revise.write_revised", full)
    assert run(["revise", str(album), bounce(bounces, "new.wav", music(2) * 0.9)]) == 2
    assert "no space" in capsys.readouterr().err
    assert hashes(album.parent) == before
