"""A new user takes the demo's album from a folder of masters to a verified package, using only the browser."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from delivery import load_release
from tests.demo.conftest import corrected  # noqa: F401 - a fixture
from tests.desk.started import Started, build_by_command, files_in
from tests.report.browser import needs_browser

pytestmark = [needs_browser(), pytest.mark.slow]
PASTE = """([id, text]) => {
  const data = new DataTransfer();
  data.setData("text/plain", text);
  const cell = document.getElementById(id);
  cell.focus();
  cell.dispatchEvent(new ClipboardEvent("paste", { clipboardData: data, bubbles: true, cancelable: true }));
}"""
RELEASE_CELLS = {
    "album": "Harbour Arithmetic",
    "album_artist": "Merrow & the Glass Tide",
    "label": "Ostrelune Records",
    "catalogue_number": "OSL-014",
    "upc": "2000000140018",
    "release_date": "2026-09-18",
    "genre": "Chamber pop",
    "p_line": "2026 Ostrelune Records",
    "c_line": "2026 Ostrelune Records",
}
TITLES = ("Sounding Line", "Café of the Drowned Clocks", "Tally of Lamps", "潮の計算 Tide Sums", "Ledger for the Ebb")
SPECS = ("store-master-24", "cd-rate-16", "sync-48-24", "listening-mp3-320")


@pytest.mark.thorough
def test_the_demos_album_from_a_bare_folder_to_a_verified_package(
    chromium: Any,
    own_desk: Started,
    corrected: Path,  # noqa: F811
    tmp_path: Path,
) -> None:
    folder = tmp_path / "Harbour Arithmetic"
    folder.mkdir()
    for file in corrected.iterdir():
        if file.suffix in (".wav", ".jpg"):
            shutil.copy(file, folder)
    masters = files_in(folder)

    watched = own_desk.page(chromium, viewport={"width": 1280, "height": 900})
    page = watched.page
    page.set_default_timeout(300_000)  # five songs at 96 kHz for four recipients, on a machine that may be shared
    page.click("text=Open a folder")
    page.fill("#path", str(folder))
    page.keyboard.press("Enter")
    page.click("text=Write a first one from the masters")
    page.wait_for_selector("#rows tr:nth-child(5)")
    sheet = page.url.split("?")[0]

    for name, text in RELEASE_CELLS.items():
        page.fill(f"#c-0-{name}", text)
        page.keyboard.press("Tab")
    block = "\n".join(f"{title}\t\tMerrow & the Glass Tide\tZZOSL260000{at}" for at, title in enumerate(TITLES, 1))
    page.evaluate(PASTE, ["c-1-title", block])
    page.wait_for_selector("#status:has-text('cells written')")
    assert page.locator(".refused").count() == 0

    page.goto(f"{sheet}/specs")
    while page.locator("form.specs input:checked").count():
        page.locator("form.specs input:checked").first.uncheck()
    for name in SPECS:
        page.check(f"input[name='{name}']")
    page.click("text=Deliver to these")
    page.wait_for_selector("#notes h2")
    if page.locator(".drop-cover img").count() == 0:
        page.set_input_files(".pick-cover", str(folder / "cover.jpg"))
        page.wait_for_selector(".drop-cover img")
    page.wait_for_selector("#notes h2")
    if page.locator("text=All of it is right").count():
        page.click("text=All of it is right")
        page.wait_for_selector("text=All of it is right", state="detached")
    page.wait_for_selector("text=Nothing to settle.")
    page.screenshot(path=str(tmp_path / "sheet.png"), full_page=True)

    page.goto(f"{sheet}/package")
    page.click("text=Build the package")
    page.wait_for_selector("text=The package is in")
    page.click("text=Verify it")
    page.wait_for_selector("text=every checksum holds")
    page.screenshot(path=str(tmp_path / "package.png"), full_page=True)
    assert watched.errors == []

    release = load_release(folder / "release.yaml")
    assert tuple(track.title for track in release.tracks) == TITLES
    assert release.tracks[3].isrc == "ZZOSL2600004"
    package = next(path for path in folder.iterdir() if path.is_dir())
    by_desk = files_in(package)
    assert len([name for name in by_desk if name.endswith((".wav", ".mp3"))]) == len(TITLES) * len(SPECS)
    assert {name: content for name, content in files_in(folder).items() if name in masters} == masters, "unchanged"
    same = files_in(build_by_command(replace(own_desk, folder=folder), tmp_path))
    assert by_desk == same, "byte for byte those of `delivery build`"
