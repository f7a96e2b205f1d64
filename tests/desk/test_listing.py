"""The list of releases with hundreds of them: read once, kept, and read anew only where something changed."""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from delivery.desk import listing
from delivery.desk.feed import Feed
from delivery.desk.folders import Folders
from delivery.desk.listing import Listing
from delivery.desk.sessions import COOKIE, Sessions
from delivery.desk.state import Desk
from delivery.tasks.summaries import Summary, kept, summarised, with_last
from tests.desk.conftest import Client

COUNT = 300
PATIENCE_S = 120.0


@pytest.fixture
def releases(tmp_path: Path) -> list[Path]:
    folder = (tmp_path / "releases").resolve()
    files = []
    for number in range(COUNT):
        (folder / f"{number:03}").mkdir(parents=True)
        file = folder / f"{number:03}" / "release.yaml"
        tracks = "".join(f'  - {{file: "{at}.wav", title: "Song {at}"}}\n' for at in range(1, 4))
        file.write_text(f'title: "Album {number}"\nartist: "Ada Fenn"\ntracks:\n{tracks}', encoding="utf-8")
        files.append(file)
    return files


def filled(found: Listing, files: list[Path]) -> list[str]:
    end = time.monotonic() + PATIENCE_S
    while None in (known := found.of(files)).values():
        assert time.monotonic() < end
        time.sleep(0.1)
    return [one.title for one in known.values() if one]


def test_a_second_start_reads_only_what_changed(
    releases: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    few, file = releases[:20], tmp_path / "kept.json"
    assert filled(Listing(Feed(), file), few) == [f"Album {number}" for number in range(20)]
    read: list[Path] = []

    def watched(path: Path) -> object:
        read.append(path)
        return summarised(path)

    monkeypatch.setattr(listing, "summarised", watched)
    few[3].write_text('title: "Another"\nartist: "Ada Fenn"\ntracks:\n  - {file: "1.wav", title: "S"}\n', "utf-8")
    few[4].write_text("title: [\n", "utf-8")
    titles = filled(Listing(Feed(), file), few)
    assert (titles[2], titles[3]) == ("Album 2", "Another")
    assert read == [few[3], few[4]]
    known = Listing(Feed(), file).of(few)[few[4]]
    assert known is not None
    assert known.problem


def test_the_result_of_an_earlier_day_is_shown_until_the_text_changes(client: Client, tmp_path: Path) -> None:
    """After a restart a release is not 'not checked yet' if this text of it was checked."""
    file = client.folder / "release.yaml"

    def page_of_another_day() -> str:
        desk = Desk(client.desk.folders, own=tmp_path)
        try:
            return Client(desk, client.sessions, client.session, client.folder, client.cookies).get("").text
        finally:
            desk.close()

    assert "not checked yet" in page_of_another_day()
    client.desk.listing = Listing(Feed(), tmp_path / "releases.json")
    client.get(client.release)
    one = client.desk.releases()[0]
    end = time.monotonic() + PATIENCE_S
    while one.view is None and time.monotonic() < end:
        time.sleep(0.05)
    assert one.view is not None, one.problem
    while not kept(tmp_path / "releases.json")[str(file)].checked and time.monotonic() < end:
        time.sleep(0.05)  # it is kept just after it is shown
    page = page_of_another_day()
    assert f"{one.view.verdict.word} (when last checked)" in page
    assert listing.open_points(one.view) in page
    file.write_text(file.read_text(encoding="utf-8") + "# more\n", encoding="utf-8")
    assert "not checked yet" in page_of_another_day()


def test_the_result_of_a_check_that_ends_while_the_list_is_made_stays(
    releases: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file, first = tmp_path / "kept.json", releases[0]
    found = Listing(Feed(), file)
    filled(found, [first])
    view: Any = SimpleNamespace(verdict=SimpleNamespace(word="ready"), notices=(), remarks=())

    def interrupted(summary: Summary) -> Summary:
        found.checked(first, summary.stamp, view)
        return with_last(summary)

    monkeypatch.setattr(listing, "with_last", interrupted)
    summary = found.of([first])[first]
    assert summary is not None
    assert summary.checked == kept(file)[str(first)].checked == "ready"


@pytest.mark.parametrize("text", ["", "{", '{"form": 0}', '{"form": 1, "releases": {"x": {"stamp": 1, "odd": 2}}}'])
def test_a_kept_list_that_is_damaged_is_read_anew(releases: list[Path], tmp_path: Path, text: str) -> None:
    file = tmp_path / "kept.json"
    file.write_text(text, encoding="utf-8")
    assert filled(Listing(Feed(), file), releases[:2]) == ["Album 0", "Album 1"]


def test_the_first_page_of_300_releases_reads_few_of_them_and_later_ones_none(
    releases: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A page reads for 0.3 s: three files, by a clock that each file moves on by 0.125 s. The rest is read beside."""
    now_s = 0.0
    by_pages: list[Path] = []

    def read(path: Path) -> Summary:
        nonlocal now_s
        now_s += 0.125
        if threading.current_thread().name != "desk listing":
            by_pages.append(path)
        return summarised(path)

    def begun() -> Client:
        folders, sessions = Folders(), Sessions()
        folders.open(releases[0].parents[1])
        session = sessions.enter(sessions.new_secret())
        assert session is not None
        desk = Desk(folders, own=tmp_path)
        return Client(desk, sessions, session, releases[0].parents[1], {COOKIE: session.cookie})

    monkeypatch.setattr(listing, "summarised", read)
    monkeypatch.setattr(listing, "time", SimpleNamespace(monotonic=lambda: now_s, sleep=lambda _s: None))
    for known, read_at_once in ((False, 3), (True, 0)):
        client = begun()
        by_pages.clear()
        try:
            page = client.get("").text
            assert page.count("<li>") == COUNT
            assert ("being read" not in page) == known
            assert len(by_pages) == read_at_once
            filled(client.desk.listing, releases)
        finally:
            client.desk.close()


def test_the_chooser_begins_in_the_folders_that_the_studio_file_names(
    client: Client, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stated, outside = tmp_path / "stated", tmp_path / "outside"
    for folder in (stated / "Merrow & Co", outside / "private"):
        folder.mkdir(parents=True)
    (tmp_path / "settings" / "delivery").mkdir(parents=True)
    settings = tmp_path / "settings" / "delivery" / "studio.yaml"
    settings.write_text(f'master_folders: ["{stated}", "{tmp_path / "not connected"}"]\n', encoding="utf-8")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "settings"))
    page = client.get("open").text
    assert "Merrow &amp; Co" in page
    assert "not connected" not in page
    assert "private" not in client.get(f"open?at={outside}").text, "only names below these, home, and opened folders"
    settings.write_text("master_folders: 3\n", encoding="utf-8")
    assert "studio.yaml:1 master_folders" in client.get("open").text


def test_the_first_page_loads_few_modules(client: Client) -> None:
    """It is there before numbers, YAML and schemas are loaded: these come once it was answered."""
    code = """
import sys, delivery.desk.app, delivery.desk.pages.releases
late = ("numpy", "soundfile", "ruamel", "jsonschema", "openpyxl", "mutagen", "PIL", "delivery.desk.pages.sheet")
print([name for name in late if name in sys.modules])
"""
    loaded = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True).stdout
    assert loaded.strip() == "[]"
    assert client.get("specs").status_code == 200, "the other pages are there as soon as they are asked for"
