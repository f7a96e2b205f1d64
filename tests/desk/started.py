"""`delivery desk` as a user starts it, in a process of its own, and the browser's way in."""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from tests.report.browser import Watched

PATIENCE_MS = 60_000


@dataclass
class Started:
    process: subprocess.Popen[str]
    address: str
    file: Path
    folder: Path
    environment: dict[str, str]

    def open(self, folder: Path) -> Started:
        """The same desk with *folder* opened in it and a new way in, as by a second start."""
        running = json.loads((self.own_folder / "running.json").read_text(encoding="utf-8"))
        said = json.dumps({"folder": str(folder)}).encode()
        request = urllib.request.Request(f"{self.address}knock", said, {"X-Desk-Key": running["key"]})
        with urllib.request.urlopen(request, timeout=60) as answer:
            return replace(self, folder=folder, file=Path(json.load(answer)["file"]))

    @property
    def own_folder(self) -> Path:
        """Where the desk keeps its state."""
        return Path(self.environment["XDG_DATA_HOME"]) / "delivery" / "desk"

    def page(self, browser: Any, **how: Any) -> Watched:
        watched = Watched(browser.new_page(**how))
        watched.page.set_default_timeout(PATIENCE_MS)
        watched.page.goto(self.file.as_uri())
        watched.page.wait_for_selector("h1:has-text('Releases')")
        return watched


def start(folder: Path, environment: dict[str, str]) -> Started:
    command = [sys.executable, "-m", "delivery", "desk", str(folder), "--no-browser"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment, cwd=folder.parent)
    assert process.stdout is not None
    address, way_in = process.stdout.readline().strip(), process.stdout.readline()
    found = re.search(r"open (/.+\.html)", way_in)
    assert found, way_in
    return Started(process, address, Path(found[1]), folder, environment)


@contextmanager
def started_desk(masters: Path, tmp_path: Path) -> Iterator[Started]:
    """A desk on a copy of *masters*, with ledger and settings of its own; ended afterwards."""
    folder = tmp_path / "album"
    shutil.copytree(masters, folder)
    own = {f"XDG_{kind}_HOME": str(tmp_path / "own" / kind) for kind in ("DATA", "CACHE", "CONFIG")}
    started = start(folder, {**os.environ, **own})
    try:
        yield started
    finally:
        started.process.send_signal(signal.SIGTERM)
        started.process.wait(30)
        if started.process.stdout is not None:
            started.process.stdout.close()


def build_by_command(desk: Started, tmp_path: Path) -> Path:
    into = tmp_path / "by command"
    command = [sys.executable, "-m", "delivery", "build", str(desk.folder), "--into", str(into), "--again"]
    subprocess.run(command, env=desk.environment, check=False, capture_output=True, cwd=tmp_path)
    return next(path for path in into.iterdir() if path.is_dir())


def files_in(package: Path) -> dict[str, bytes]:
    return {str(path.relative_to(package)): path.read_bytes() for path in package.rglob("*") if path.is_file()}
