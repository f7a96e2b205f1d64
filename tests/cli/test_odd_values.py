"""Values that are legal in form and make no sense: each is one clear message, or is pointed out."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from delivery.__main__ import run
from delivery.ledger.deliveries import DeliveryLedger
from tests.albums import Song, write_album, write_song, write_spec
from tests.pipeline.test_images import edited

pytestmark = pytest.mark.usefixtures("without_sheets")


@pytest.fixture
def album(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("DELIVERY_LEDGER", str(tmp_path / "ledger.sqlite3"))
    write_spec(tmp_path, "cd", "{container: {must: [wav]}}", "{}")
    return write_album(tmp_path, [Song("One", seconds=1.0), Song("Two", seconds=1.0, seed=2)], ["cd"])


def words(capsys: pytest.CaptureFixture[str]) -> str:
    output = capsys.readouterr()
    return " ".join((output.out + output.err).split())


@pytest.mark.parametrize("revision", [10_000, 10**20])
def test_a_revision_that_nobody_counts_to(album: Path, capsys: pytest.CaptureFixture[str], revision: int) -> None:
    """The ledger holds whole numbers of 64 bits, and the form of the sheet reads at most 9999."""
    edited(album, lambda data: data.update(revision=revision))
    assert run(["build", str(album), "--into", str(album.parent / "out")]) == 2
    assert f"revision: found the number {revision}, wanted at most 9999." in words(capsys)
    edited(album, lambda data: data.update(revision=9999))
    assert run(["build", str(album), "--into", str(album.parent / "out")]) == 0
    assert [each.revision for each in DeliveryLedger().of_numbers([1])] == [9999]


def preview(at_s: float) -> Callable[[dict[str, Any]], None]:
    return lambda data: data["tracks"][1].update(preview_start_s=at_s)


def test_a_preview_after_the_end(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edited(album, preview(65.0))
    assert run(["check", str(album), "--all"]) == 0
    assert "Track 2: the preview begins at 1:05, after the end at 0:01." in words(capsys)
    edited(album, preview(0.5))
    assert run(["check", str(album), "--all"]) == 0
    assert "the preview begins" not in words(capsys)


def test_a_changed_preview_is_named_as_people_write_it(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["build", str(album), "--into", str(album.parent / "out")]) == 0
    edited(album, preview(65.0))
    capsys.readouterr()
    assert run(["check", str(album)]) == 0
    assert "Track 2, Two: Preview start now 1:05 (was not stated)." in words(capsys)


def test_sound_below_a_folder_is_not_outside_a_release_file(
    tmp_path: Path, album: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """There is no release file, so it names nothing."""
    for name in ("a", "b"):
        (tmp_path / "shelf" / name).mkdir(parents=True)
        write_song(tmp_path / "shelf" / name, 1, Song(name, seconds=1.0))
    assert run(["check", str(tmp_path / "shelf"), "--spec", str(album.parent / "cd.yaml")]) == 0
    said = words(capsys)
    assert "No release file" in said
    assert "outside its folder" not in said


def test_a_track_that_does_not_exist_is_not_reported_as_met(album: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", str(album), "--track", "3"]) == 2
    assert "--track: found 3, wanted a position from 1 to 2." in words(capsys)


def test_a_spec_that_does_not_exist_is_not_watched_for(
    album: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else it is reported with the first bounce, which may be tomorrow. One beside a release file is known."""
    monkeypatch.setattr("delivery.tasks.watch.watch", lambda *_, **__: iter(()))
    assert run(["watch", str(album.parent.parent), "--spec", "no-such"]) == 2
    assert "no-such: found no spec of this name" in words(capsys)
    assert run(["watch", str(album.parent.parent), "--spec", "cd"]) == 0
