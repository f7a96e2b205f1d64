"""Building from the page: cancelled, it leaves nothing; a release file that changed is not built unseen."""

from __future__ import annotations

import os
import sys
import threading
import time
from pathlib import Path

import numpy as np
import pytest
import soundfile

from delivery.desk.work import BuildResult, CheckJob
from delivery.desk.worker import Ticket
from tests.desk.conftest import Client

PATIENCE_S = 120.0


def test_a_cancelled_build_leaves_nothing(client: Client) -> None:
    """Cancelled at its first sign of life, and with masters of a minute: no machine builds them meanwhile."""
    for file in client.folder.glob("*.wav"):
        soundfile.write(file, np.random.default_rng(7).uniform(-0.1, 0.1, (60 * 44_100, 2)), 44_100, "PCM_24")
    before = sorted(path.name for path in client.folder.iterdir())
    one, send = client.desk.releases()[0], client.desk.feed.send

    def cancelling(release: str, kind: str, data: object = None) -> None:
        send(release, kind, data)
        if kind == "progress":
            assert client.post(f"{client.release}/cancel", {}).status_code == 200

    client.desk.feed.send = cancelling  # type: ignore[method-assign]
    assert client.post(f"{client.release}/build", {"digest": client.digest}).status_code == 200
    until = time.monotonic() + PATIENCE_S
    while one.building is not None and time.monotonic() < until:
        time.sleep(0.02)
    assert "Cancelled" in one.build_problem
    assert "Cancelled" in client.get(f"{client.release}/package").text
    assert sorted(path.name for path in client.folder.iterdir()) == before


def test_a_check_that_waits_when_a_build_begins_leaves_no_complaint(client: Client) -> None:
    """It is cancelled, and the build checks as well: no event is sent for that."""
    one = client.desk.releases()[0]
    worker = client.desk.worker
    running = threading.Event()
    busy = Ticket(CheckJob(one.path), lambda *_: running.set(), lambda *_: None, lambda *_: None)
    worker.put(busy)
    assert running.wait(PATIENCE_S)
    client.desk.check(one)
    client.desk.build(one, replace=False)
    worker.cancel(busy)
    assert one.problem == ""
    assert one.building is not None


def test_a_release_file_that_changed_is_not_built_unseen(client: Client) -> None:
    shown = client.digest
    file = client.folder / "release.yaml"
    file.write_text(file.read_text(encoding="utf-8") + "# more\n", encoding="utf-8")
    assert client.post(f"{client.release}/build", {"digest": shown}).status_code == 400
    assert client.desk.releases()[0].building is None


def test_the_file_that_is_begun_is_named_while_masters_are_measured(client: Client) -> None:
    told: list[dict[str, object]] = []
    send = client.desk.feed.send

    def watched(release: str, kind: str, data: object = None) -> None:
        if kind == "progress" and isinstance(data, dict):
            told.append(data)
        send(release, kind, data)

    client.desk.feed.send = watched  # type: ignore[method-assign]
    client.post(f"{client.release}/build", {"digest": client.digest})
    one = client.desk.releases()[0]
    until = time.monotonic() + PATIENCE_S
    while one.building is not None and time.monotonic() < until:
        time.sleep(0.05)
    assert one.built is not None, one.build_problem
    files = {str(each["file"]) for each in told if each["text"] == "measuring masters"}
    assert {"01 Song.wav", "02 Song.wav", "03 Song.wav"} <= files
    assert {"track 1, sync-48-24", "track 3, sync-48-24"} <= {str(each["file"]) for each in told}
    assert all(0 <= int(str(each["done"])) <= int(str(each["total"])) for each in told if each["total"])


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="xdg-open")
def test_the_folder_of_the_package_is_opened_and_no_other(
    client: Client, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened = tmp_path / "opened.txt"
    program = tmp_path / "bin" / "xdg-open"
    program.parent.mkdir()
    program.write_text(f'#!/bin/sh\nprintf "%s" "$1" > "{opened}"\n', encoding="utf-8")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", f"{program.parent}:{os.environ['PATH']}")
    one = client.desk.releases()[0]
    path = f"release/{one.id}/package/folder"
    assert client.post(path, {"path": "/etc"}).status_code == 400, "nothing is built yet"
    assert one.text.view is not None
    one.built = BuildResult(one.text.view, (), client.folder)
    assert client.post(path, {"path": "/etc"}).status_code == 200
    until = time.monotonic() + 20
    while not (opened.exists() and opened.read_text(encoding="utf-8")) and time.monotonic() < until:
        time.sleep(0.05)
    assert opened.read_text(encoding="utf-8") == str(client.folder)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert "Open it yourself" in client.post(path, {}).json()["message"]
