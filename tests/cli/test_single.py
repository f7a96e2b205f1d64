"""A single from its master alone: one command, a release file beside the song, a screen of output."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from PIL import Image

from delivery.__main__ import run
from delivery.intake import load_release
from tests.albums import Song, write_song
from tests.homes import live_in


@pytest.fixture
def song(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    live_in(tmp_path / "home", monkeypatch)
    folder = tmp_path / "songs"
    folder.mkdir()
    return write_song(folder, 1, Song("Tide", 44_100, 6.0)).rename(folder / "Tide.wav")


NAMED = ("--title", "Tide", "--artist", "Ada Fenn", "--isrc", "ZZOSL2600077", "--spec", "store-master-24")


def test_one_command_makes_the_package(song: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (song.parent / "cover.jpg").write_bytes(b"not a picture, and not named")
    assert run(["build", str(song), *NAMED, "--dated", "2026-11-28"]) == 0
    out = capsys.readouterr().out
    assert len(out.splitlines()) <= 15
    assert "Ada Fenn: Tide, revision 1" in out
    release = load_release(song.with_name("Tide.release.yaml"))
    assert (release.title, release.artist, release.artwork, release.to_confirm) == ("Tide", "Ada Fenn", None, ())
    assert [(track.title, track.isrc) for track in release.tracks] == [("Tide", "ZZOSL2600077")]
    assert release.deliver_to == ("store-master-24",)
    assert (song.parent / "Tide rev 1" / "data" / "delivery-sheet.pdf").is_file()


def test_the_release_file_is_used_again_and_never_overwritten(song: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["build", str(song), *NAMED]) == 0
    file = song.with_name("Tide.release.yaml")
    before = file.read_bytes()
    capsys.readouterr()
    assert run(["build", str(song), "--title", "Other"]) == 2
    assert "Edit the file" in capsys.readouterr().err
    assert run(["build", str(song), "--replace"]) == 0
    assert file.read_bytes() == before


@pytest.mark.parametrize(
    ("options", "text"),
    [
        ((), "no --title and no --artist"),
        (("--title", "Tide"), "no --artist"),
        (("--title", "Tide", "--artist", "A", "--upc", "000000000000"), "only zeros"),
        (("--title", "Tide", "--artist", "A", "--isrc", "ZZOSL26"), "12 letters and digits"),
    ],
)
def test_what_is_missing_or_wrong_is_named_and_nothing_is_built(
    song: Path, capsys: pytest.CaptureFixture[str], options: tuple[str, ...], text: str
) -> None:
    assert run(["build", str(song), *options]) == 2
    assert text in capsys.readouterr().err
    assert not list(song.parent.glob("Tide rev*"))
    assert not list(song.parent.glob("*.yaml"))


def test_the_command_in_a_refusal_can_be_typed(song: Path, capsys: pytest.CaptureFixture[str]) -> None:
    blank = song.rename(song.with_name("Low Water.wav"))
    assert run(["build", str(blank)]) == 2
    command = capsys.readouterr().err.partition("Name them: ")[2].strip()
    assert shlex.split(command)[:3] == ["delivery", "build", str(blank.resolve())]


def test_options_of_a_single_are_refused_for_an_album(song: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["build", str(song), *NAMED]) == 0
    assert run(["build", str(song.with_name("Tide.release.yaml")), "--title", "X"]) == 2
    assert "an option of a single" in capsys.readouterr().err


@pytest.mark.parametrize("option", ["--cover", "--artwork"])
def test_folders_with_song_and_cover_can_be_moved(song: Path, monkeypatch: pytest.MonkeyPatch, option: str) -> None:
    """The cover lies beside the song's folder, and is typed relative to where the command runs."""
    art = song.parent.parent / "art"
    art.mkdir()
    Image.new("RGB", (300, 300), "navy").save(art / "front.png")
    monkeypatch.chdir(art)
    assert run(["build", str(song), *NAMED, option, "front.png"]) == 0
    assert 'artwork: "../art/front.png"' in song.with_name("Tide.release.yaml").read_text(encoding="utf-8")
    monkeypatch.chdir("/")
    elsewhere = song.parent.parent / "elsewhere"
    elsewhere.mkdir()
    for folder in (song.parent, art):
        folder.rename(elsewhere / folder.name)
    release = load_release(elsewhere / "songs" / "Tide.release.yaml")
    assert release.artwork is not None
    assert release.artwork.resolve() == elsewhere / "art" / "front.png"
    assert run(["check", str(release.path)]) == 0


def test_values_for_an_existing_release_file_are_refused_by_a_name_that_exists(
    song: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["build", str(song), *NAMED]) == 0
    capsys.readouterr()
    assert run(["build", str(song), "--cover", "front.png"]) == 2
    (named,) = re.findall(r"--[a-z]+", capsys.readouterr().err)
    assert run(["build", str(song), named, "front.png"]) == 2
    assert "No such option" not in capsys.readouterr().err
