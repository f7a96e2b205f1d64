"""`build --replace` replaces a package of the same release, and of no other."""

from __future__ import annotations

from pathlib import Path

import pytest

from delivery.__main__ import run
from delivery.pipeline.earlier import package_data
from tests.albums import Song, write_album, write_spec

CODES = ("ZZOSL2600001", "ZZOSL2600002")
pytestmark = pytest.mark.usefixtures("without_sheets")


def single(folder: Path, artist: str, seed: int, isrc: str) -> Path:
    folder.mkdir()
    write_spec(folder, "cd", "{container: {must: [wav]}}", "{}")
    song = Song("Home", seconds=1.0, seed=seed, extra={"isrc": isrc})
    return write_album(folder, [song], ["cd"], artist=artist, title="Home", catalogue_number="", upc="")


def artist_of(package: Path) -> str:
    return str(package_data(package).document["release"]["artist"])


def test_that_of_another_artist_stays(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two singles called Home, without catalogue numbers, have packages of one name."""
    one, other = single(tmp_path / "a", "Ada Fenn", 1, CODES[0]), single(tmp_path / "b", "Bo Lind", 2, CODES[1])
    into = tmp_path / "out"
    assert run(["build", str(one), "--into", str(into)]) == 0
    for option in ([], ["--replace"]):
        assert run(["build", str(other), "--into", str(into), *option]) == 2
        words = capsys.readouterr().err
        assert "Ada Fenn: Home" in words
        assert "or give one of them a catalogue number" in words
    assert artist_of(into / "Home rev 1") == "Ada Fenn"


@pytest.mark.parametrize(("seed", "isrc"), [(1, CODES[1]), (2, CODES[0])])
def test_a_corrected_artist_is_the_same_release(tmp_path: Path, seed: int, isrc: str) -> None:
    """By its sound, or by its code."""
    one = single(tmp_path / "a", "Ada Fen", 1, CODES[0])
    corrected = single(tmp_path / "b", "Ada Fenn", seed, isrc)
    into = tmp_path / "out"
    assert run(["build", str(one), "--into", str(into)]) == 0
    assert run(["build", str(corrected), "--into", str(into), "--replace"]) == 0
    assert artist_of(into / "Home rev 1") == "Ada Fenn"


def test_nothing_is_built_into_a_package(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its lists do not name the new files: whoever verifies it would find it damaged."""
    one, other = single(tmp_path / "a", "Ada Fenn", 1, CODES[0]), single(tmp_path / "b", "Bo Lind", 2, CODES[1])
    assert run(["build", str(one), "--into", str(tmp_path / "out")]) == 0
    for inside in ("Home rev 1", "Home rev 1/data", "Home rev 1/new"):
        assert run(["build", str(other), "--into", str(tmp_path / "out" / inside)]) == 2
        assert "found the package Home rev 1, wanted a folder outside of packages" in capsys.readouterr().err
    assert run(["verify", str(tmp_path / "out" / "Home rev 1")]) == 0


def test_a_package_that_another_folder_holds_too_is_not_built_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The ledger's last delivery is the one in the other folder: it is no reason to refuse the first."""
    release = single(tmp_path / "a", "Ada Fenn", 1, CODES[0])
    for into in ("one", "two", "one"):
        assert run(["build", str(release), "--into", str(tmp_path / into)]) == 0
    assert "Nothing has changed since revision 1." in capsys.readouterr().out
