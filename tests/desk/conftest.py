"""A desk in this process, with an album of short masters in a folder that was opened, and a client that was let in."""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest
import soundfile

from delivery.desk.app import application
from delivery.desk.folders import Folders
from delivery.desk.sessions import COOKIE, TOKEN_HEADER, Session, Sessions
from delivery.desk.state import Desk
from tests.desk.kept_worker import KeptWorker
from tests.desk.started import Started, started_desk
from tests.report.browser import browser

ADDRESS = "http://127.0.0.1:8000/"
OWN = {"Origin": "http://127.0.0.1:8000"}
RATE_HZ = 44_100


@dataclass
class Client:
    """Requests as a browser sends them: with the cookie, and posts with origin and token, unless set otherwise."""

    desk: Desk
    sessions: Sessions
    session: Session
    folder: Path
    cookies: dict[str, str] = field(default_factory=dict)

    @property
    def release(self) -> str:
        return f"release/{self.desk.releases()[0].id}"

    @property
    def digest(self) -> str:
        return self.desk.releases()[0].text.digest

    def ask(self, method: str, path: str, headers: dict[str, str] | None = None, **what: Any) -> httpx.Response:
        """*path* below the pages' own, or from the root if it begins with a slash."""

        async def go() -> httpx.Response:
            transport = httpx.ASGITransport(app=application(self.desk, self.sessions, ADDRESS))
            async with httpx.AsyncClient(transport=transport, base_url=ADDRESS) as client:
                where = path if path.startswith("/") else f"{self.sessions.path}{path}"
                cookie = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items())}
                return await client.request(method, where, headers={**cookie, **(headers or {})}, **what)

        return asyncio.run(go())

    def get(self, path: str, **headers: str) -> httpx.Response:
        return self.ask("GET", path, headers)

    def post(self, path: str, data: dict[str, Any], headers: dict[str, str] | None = None) -> httpx.Response:
        sent = {**OWN, TOKEN_HEADER: self.session.token, **(headers or {})}
        return self.ask("POST", path, {name: value for name, value in sent.items() if value}, json=data)


@pytest.fixture(scope="session")
def masters(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three songs of two seconds, a cover, and a release file with comments."""
    folder = tmp_path_factory.mktemp("masters")
    chance = np.random.default_rng(7)
    for number in (1, 2, 3):
        sound = 0.1 * chance.standard_normal((2 * RATE_HZ, 2)) * np.linspace(1, 0.2, 2 * RATE_HZ)[:, None]
        soundfile.write(folder / f"{number:02} Song.wav", sound, RATE_HZ, "PCM_24")
    text = [
        "# kept by hand",
        'title: "Low Water"  # working title',
        'artist: "Ada Fenn"',
        "upc:",
        "deliver_to: [sync-48-24]",
        "waivers:",
        '  - {rule: "tail_s", track: 3, by: "A. Moreau", why: "it ends so"}',
        "tracks:",
    ]
    for number in (1, 2, 3):
        text += [f"  # song {number}", f'  - file: "{number:02} Song.wav"', f'    title: "Song {number}"', "    isrc:"]
    (folder / "release.yaml").write_text("\n".join(text) + "\n", encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def worker() -> Iterator[KeptWorker]:
    kept = KeptWorker()
    yield kept
    kept.end()


@pytest.fixture
def client(masters: Path, tmp_path: Path, worker: KeptWorker) -> Iterator[Client]:
    folder = (tmp_path / "album").resolve()
    shutil.copytree(masters, folder)
    folders = Folders()
    folders.open(folder)
    desk, sessions = Desk(folders, worker), Sessions()
    session = sessions.enter(sessions.new_secret())
    assert session is not None
    try:
        yield Client(desk, sessions, session, folder, {COOKIE: session.cookie})
    finally:
        desk.close()


@pytest.fixture(scope="module")
def launched() -> Iterator[Any]:
    """One browser for a module."""
    with browser() as opened:
        yield opened


@pytest.fixture
def chromium(launched: Any) -> Iterator[Any]:
    """The browser, without any page of another test."""
    yield launched
    for context in launched.contexts:
        context.close()


@pytest.fixture(scope="module")
def running(masters: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Started]:
    """One desk for a module, in a process of its own."""
    with started_desk(masters, tmp_path_factory.mktemp("running")) as started:
        yield started


@pytest.fixture
def desk(running: Started, masters: Path, tmp_path: Path) -> Started:
    """The running desk with an album of this test's own opened last: it is the first on the start page.

    Its ledger is shared: a test that builds takes `own_desk`.
    """
    return running.open(Path(shutil.copytree(masters, tmp_path / "album")))


@pytest.fixture
def own_desk(masters: Path, tmp_path: Path) -> Iterator[Started]:
    """A desk of this test's own, for a test that builds or ends it."""
    with started_desk(masters, tmp_path) as started:
        yield started
