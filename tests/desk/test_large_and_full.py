"""Sixty tracks, an album being measured while pages are loaded, and a disk that is full during a build."""

from __future__ import annotations

import multiprocessing
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from types import FrameType

import httpx
import numpy as np
import pytest
import soundfile

from delivery.desk import state
from delivery.desk.folders import Folders
from delivery.desk.state import OpenRelease
from tests.desk.conftest import Client
from tests.desk.kept_worker import KeptWorker
from tests.hostile.test_disk_faults import small_disk

pytestmark = pytest.mark.slow
PATIENCE_S = 240.0
FEW, TRACKS = 15, 60
RATE_HZ = 44_100


def wait(one: OpenRelease, done: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE_S
    while not done():
        assert not one.problem
        assert time.monotonic() < end
        time.sleep(0.05)


def open_album(client: Client, folder: Path, songs: int, seconds: float) -> OpenRelease:
    folder.mkdir()
    chance = np.random.default_rng(1)
    for number in range(1, songs + 1):
        sound = 0.1 * chance.standard_normal((int(seconds * RATE_HZ), 2))
        soundfile.write(folder / f"{number}.wav", sound, RATE_HZ, "PCM_24")
    tracks = "".join(f'  - {{file: "{at}.wav", title: "Song {at}"}}\n' for at in range(1, songs + 1))
    file = folder / "release.yaml"
    file.write_text(f'title: "Many"\nartist: "Ada Fenn"\ndeliver_to: [sync-48-24]\ntracks:\n{tracks}', encoding="utf-8")
    client.desk.folders.open(folder)
    return client.desk.at(file)


def calls_of(ask: Callable[[], httpx.Response]) -> int:
    """Calls of Python functions that an answer takes, also in the threads that it starts."""
    counted = 0

    def count(_frame: FrameType, event: str, _of: object) -> None:
        nonlocal counted
        counted += event == "call"

    threading.setprofile(count)
    sys.setprofile(count)
    try:
        answer = ask()
    finally:
        sys.setprofile(None)
        threading.setprofile(None)
    assert answer.status_code == 200
    return counted


def test_a_release_of_sixty_tracks_is_shown_and_edited_by_work_that_grows_with_its_tracks(
    client: Client, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The file is read once after each edit, and not again to show a page."""
    files: list[Path] = []
    read_anew = state.read

    def watched(path: Path, folders: Folders) -> state.Text:
        files.append(path)
        return read_anew(path, folders)

    def taken(tracks: int) -> dict[str, int]:
        one = open_album(client, (tmp_path / str(tracks)).resolve(), tracks, 0.5)
        at = f"release/{one.id}"
        client.get(at)
        wait(one, lambda: one.view is not None)
        files.clear()

        def edit() -> httpx.Response:
            cells = [{"cell": "c-7-title", "text": "Another song"}]
            return client.post(f"{at}/cells", {"digest": one.text.digest, "cells": cells})

        shown = calls_of(lambda: client.get(at))
        assert files == []
        edited = calls_of(edit)
        assert files == [one.path]
        page = client.get(at).text
        assert page.count("<tr data-position=") == tracks
        assert 'id="settle-' in page or 'id="remark-' in page
        return {"shown": shown, "edited": edited}

    monkeypatch.setattr(state, "read", watched)
    taken(FEW)  # the modules are loaded
    few, many = taken(FEW + 1), taken(TRACKS)
    assert {what: round(many[what] / few[what], 1) for what in few if many[what] > few[what] * TRACKS / FEW} == {}


@pytest.mark.skipif(not hasattr(signal, "SIGSTOP"), reason="a process cannot be halted here")
def test_pages_are_answered_while_an_album_is_measured(client: Client, tmp_path: Path) -> None:
    """Measuring is in another process: with that one halted, every page is answered all the same."""
    one = open_album(client, (tmp_path / "measured").resolve(), 2, 1)
    client.desk.check(one)
    wait(one, lambda: one.ticket is None)
    measuring = [child.pid for child in multiprocessing.active_children() if child.pid]
    assert measuring
    for process in measuring:
        os.kill(process, signal.SIGSTOP)
    try:
        soundfile.write(one.path.parent / "1.wav", np.zeros((RATE_HZ, 2)), RATE_HZ, "PCM_24")
        for path in (f"release/{one.id}", f"release/{one.id}/package", "", "specs/sync-48-24", "history", "open"):
            assert client.get(path).status_code == 200
        assert one.ticket is not None, "it is still being measured"
    finally:
        for process in measuring:
            os.kill(process, signal.SIGCONT)
    wait(one, lambda: one.ticket is None)


@pytest.mark.skipif(sys.platform != "linux" or os.geteuid() != 0, reason="a small disk to fill needs root on Linux")
def test_a_disk_that_is_full_during_a_build_leaves_nothing_and_the_next_build_is_whole(
    client: Client, worker: KeptWorker, tmp_path: Path
) -> None:
    with small_disk(tmp_path / "disk", "12m") as disk:
        try:
            _build_where_there_is_no_room(client, disk)
        finally:
            worker.end_process()  # or the disk is busy


def _build_where_there_is_no_room(client: Client, disk: Path) -> None:
    one = open_album(client, (disk / "album").resolve(), 3, 10)  # 7.9 MB; the package has as much again
    before = sorted(path.name for path in one.path.parent.iterdir())
    at = f"release/{one.id}"
    assert client.post(f"{at}/build", {"digest": one.text.digest}).status_code == 200
    wait(one, lambda: one.building is None)
    for said in (
        f"no space left on device, the disk at {disk}: ",
        "MB free",
        "MB for the whole package",
        "Free some room",
    ):
        assert said in one.build_problem, one.build_problem
    assert "Nothing was written" in client.get(f"{at}/package").text
    assert sorted(path.name for path in one.path.parent.iterdir()) == before

    cells = [{"cell": "c-1-title", "text": "A"}]
    assert client.post(f"{at}/cells", {"digest": one.text.digest, "cells": cells}).status_code == 200, "room for a line"
    subprocess.run(["mount", "-o", "remount,size=60m", str(disk)], check=True)
    assert client.post(f"{at}/build", {"digest": one.text.digest}).status_code == 200
    wait(one, lambda: one.building is None)
    assert one.built is not None, one.build_problem
    client.post(f"{at}/verify", {})
    wait(one, lambda: one.building is None)
    assert one.verified is not None
    assert one.verified.whole
