"""Watched folders: a bounce is judged when it is complete, and not before."""

from __future__ import annotations

import os
import shutil
import threading
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import numpy as np
import pytest
import soundfile

from delivery.model.finding import Result
from delivery.model.release_state import ReleaseState, Row
from delivery.report.text.board import change_line, row_words, since
from delivery.tasks import folder_events
from delivery.tasks import watch as watching
from delivery.tasks.folder_events import on_network
from delivery.tasks.watch import SETTLED_S, Pending, affected, watch
from tests.albums import Song, write_album

MOUNTS = """\
/dev/sda1 / ext4 rw 0 0
//studio/masters /mnt/studio\\040masters cifs rw 0 0
me@host:/home /home/me/there fuse.sshfs rw 0 0
"""


@pytest.fixture
def album(tmp_path: Path) -> Path:
    return write_album(tmp_path / "album", [Song("One", seconds=0.6)], ["cd-rate-16"])


@pytest.mark.parametrize(
    ("path", "concerns"),
    [
        ("album/release.yaml", "album/release.yaml"),
        ("album/01 One.wav", "album/release.yaml"),
        ("album/new/take 2.wav", "album/release.yaml"),
        ("album/cover.png", "album/release.yaml"),
        ("album/notes.txt", None),
        ("album/.hidden.wav", None),
        ("album/package/data/01.wav", None),
        ("loose/Song.wav", "loose/Song.wav"),
        ("loose/cover.png", None),
        ("../elsewhere.wav", None),
    ],
)
def test_what_a_change_concerns(album: Path, tmp_path: Path, path: str, concerns: str | None) -> None:
    bag = album.parent / "package" / "bagit.txt"
    bag.parent.mkdir()
    bag.write_text("", encoding="utf-8")
    found = affected(tmp_path.joinpath(path).resolve(), [tmp_path])
    assert found == ((tmp_path / concerns,) if concerns else ())


def test_a_file_is_complete_when_it_has_kept_its_size_for_a_while(tmp_path: Path) -> None:
    file = tmp_path / "Song.wav"
    pending = Pending()
    file.write_bytes(b"a")
    pending.changed(file, 0.0)
    assert pending.complete(SETTLED_S - 0.1) == []
    file.write_bytes(b"ab")
    assert pending.complete(SETTLED_S + 0.1) == [], "it grew: the wait begins again"
    assert pending.complete(2 * SETTLED_S) == []
    assert pending.complete(2 * SETTLED_S + 0.2) == [file]
    assert pending.complete(9 * SETTLED_S) == [], "once"


@pytest.mark.parametrize(
    ("folder", "expected"),
    [("/mnt/studio masters/2026", True), ("/home/me/there", True), ("/home/me", False), ("/mnt", False)],
)
def test_network_drives_are_known_by_their_file_system(folder: str, expected: bool) -> None:
    assert on_network(Path(folder), MOUNTS) is expected


class Watched:
    """A watch in a thread of its own, and every row it has shown."""

    def __init__(self, root: Path, *, poll: bool = False) -> None:
        self.stop, self.seen, self.poll = threading.Event(), [], poll  # type: tuple[threading.Event, list[Row], bool]
        self.ready = threading.Event()
        self.thread = threading.Thread(target=self._run, args=(root,), daemon=True)
        self.thread.start()
        assert self.ready.wait(60)

    def _run(self, root: Path) -> None:
        for rows, changed in watch([root], ("cd-rate-16",), stop=self.stop, poll=self.poll):
            self.seen += [changed] if changed else rows
            self.ready.set()

    def until(self, count: int, within_s: float = 60) -> list[Row]:
        """The rows shown so far, once there are *count*."""
        end = time.monotonic() + within_s
        while len(self.seen) < count and time.monotonic() < end:
            time.sleep(0.05)
        return list(self.seen)


@pytest.fixture
def watched(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Watched]:
    pytest.importorskip("watchfiles")
    monkeypatch.setattr(watching, "data_folder", lambda: tmp_path / "own")
    root = tmp_path / "bounces"
    root.mkdir()
    sound(root / "First.wav", 0.5)
    os.utime(root / "First.wav", (1_000_000_000, 1_000_000_000))
    running = Watched(root)
    yield running
    running.stop.set()
    running.thread.join(20)
    assert not running.thread.is_alive(), "it ends when it is stopped"


def sound(file: Path, seconds: float) -> None:
    samples = 0.2 * np.sin(2 * np.pi * 440 * np.arange(round(44_100 * seconds)) / 44_100)
    soundfile.write(file, np.column_stack([samples, samples]), 44_100, subtype="PCM_16")


def test_what_was_written_just_now_is_waited_for_at_the_start_as_well(album: Path) -> None:
    assert watching._just_written(album)
    for file in album.parent.iterdir():
        os.utime(file, (1_000_000_000, 1_000_000_000))
    assert not watching._just_written(album)
    os.utime(album.parent / "01 One.wav")
    assert watching._just_written(album), "one of its masters"
    assert not watching._just_written(album.parent / "gone.wav")


@pytest.mark.slow
def test_a_slow_writer_is_waited_for(watched: Watched, tmp_path: Path) -> None:
    """Its header promises the whole length from the first byte on; judged too early it would be called damaged."""
    sound(tmp_path / "whole.wav", 1.0)
    content = (tmp_path / "whole.wav").read_bytes()
    (first,) = watched.until(1)
    assert first.state.title == "First.wav"
    with (tmp_path / "bounces" / "Second.wav").open("wb") as out:
        for piece in range(8):
            out.write(content[piece * len(content) // 8 : (piece + 1) * len(content) // 8])
            out.flush()
            time.sleep(0.5)
    _, second = watched.until(2)
    assert (second.state.title, second.state.problem, second.writing) == ("Second.wav", "", False)
    assert second.state.seconds == pytest.approx(1.0, abs=0.001)


@pytest.mark.slow
def test_renamed_and_removed(watched: Watched, tmp_path: Path) -> None:
    file = tmp_path / "bounces" / "First.wav"
    file.rename(file.with_name("Renamed.wav"))
    gone, new = watched.until(3)[1:]
    assert (gone.state.title, gone.gone) == ("First.wav", True)
    assert (new.state.title, new.state.problem) == ("Renamed.wav", "")


@pytest.mark.thorough
@pytest.mark.slow
def test_a_folder_that_is_taken_away_and_comes_back(watched: Watched, tmp_path: Path) -> None:
    """As a network drive that is lost for a while."""
    root = tmp_path / "bounces"
    shutil.copytree(root, tmp_path / "elsewhere")
    shutil.rmtree(root)
    gone = watched.until(2)[-1]
    assert (gone.state.title, gone.gone) == ("First.wav", True)
    shutil.copytree(tmp_path / "elsewhere", root)
    back = watched.until(3, within_s=20)[-1]
    assert (back.state.title, back.gone, back.state.problem) == ("First.wav", False, "")
    sound(root / "Later.wav", 0.5)
    assert watched.until(4, within_s=20)[-1].state.title == "Later.wav", "its changes are seen again"


@pytest.mark.slow
def test_a_drive_that_reports_no_changes_is_looked_at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("watchfiles")
    monkeypatch.setattr(watching, "data_folder", lambda: tmp_path / "own")
    monkeypatch.setattr(folder_events, "POLL_MS", 200)
    root = tmp_path / "drive"
    root.mkdir()
    running = Watched(root, poll=True)
    sound(root / "First.wav", 0.5)
    assert [row.state.title for row in running.until(1)] == ["First.wav"]
    (root / "First.wav").rename(root / "Second.wav")
    assert {(row.state.title, row.gone) for row in running.until(3)[1:]} == {("First.wav", True), ("Second.wav", False)}
    running.stop.set()
    running.thread.join(20)
    assert not running.thread.is_alive()


def test_a_restart_remembers_since_when(tmp_path: Path) -> None:
    release = tmp_path / "release.yaml"
    state = ReleaseState(release, "One", Result.NOT_READY, to_settle=("1: no ISRC",))
    kept = tmp_path / "watched.json"
    kept.write_text(f'{{"{release}": ["not ready\\n1: no ISRC\\n", "2026-11-02T09:30:00"]}}', encoding="utf-8")
    assert watching._Board(kept).put(release, state).since == "2026-11-02T09:30:00"
    changed = watching._Board(kept).put(release, ReleaseState(release, "One", Result.READY))
    assert changed.since > "2026-11-02"
    assert watching._Board(kept).put(release, ReleaseState(release, "One", Result.READY)).since == changed.since
    kept.write_text("[1, 2", encoding="utf-8")
    assert watching._Board(kept).put(release, state).since > "2026-11-02", "a damaged memory counts for nothing"


def test_what_the_board_prints() -> None:
    state = ReleaseState(Path("release.yaml"), "Low Water", Result.NOT_READY, to_settle=("1: no ISRC", "2: no ISRC"))
    row = Row(state, "2026-11-28T14:02:00")
    assert row_words(row) == "2 to settle"
    assert row_words(Row(state, "", writing=True)) == "being written"
    assert row_words(Row(state, "", gone=True)) == "gone"
    moment = watching.datetime(2026, 11, 28, 14, 5)
    assert change_line(row, moment) == "14:05  Low Water: 2 to settle; 1: no ISRC"
    assert since(row.since, date(2026, 11, 28)) == "14:02"
    assert since(row.since, date(2026, 11, 29)) == "28 Nov"
