"""The desk in a real browser: `delivery desk` as a user starts it, from a folder of masters to a verified package."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from delivery.tasks.edit import digest_of
from tests.desk.started import Started, build_by_command, files_in
from tests.report.browser import needs_browser

pytestmark = [needs_browser(), pytest.mark.slow]
OF_RELEASE = ("?columns=all", "/package", "/specs", "/client-sheet", "/track/1")
LEDGER_PAGES = ("open", "new-spec", "history", "specs", "specs/sync-48-24", "received", "compare")


def test_from_masters_to_a_verified_package(chromium: Any, own_desk: Started, tmp_path: Path) -> None:
    watched = own_desk.page(chromium, viewport={"width": 1280, "height": 900})
    page = watched.page
    assert page.url.startswith(own_desk.address)
    page.click(".releases a")
    page.wait_for_selector("#notes h2")

    page.fill("#c-1-title", "Salt <b>Road</b>")
    page.keyboard.press("Enter")
    page.wait_for_selector("#c-2-title:focus")
    page.fill("#c-1-isrc", "ZZ-OSL-26-0000")
    page.keyboard.press("Tab")
    page.wait_for_selector("#c-1-isrc-why")
    page.fill("#c-1-isrc", "ZZ-OSL-26-00001")
    page.keyboard.press("Tab")
    page.wait_for_selector("#c-1-isrc-why", state="detached")
    text = (own_desk.folder / "release.yaml").read_text(encoding="utf-8")
    assert 'title: "Salt <b>Road</b>"' in text
    assert 'isrc: "ZZOSL2600001"' in text
    assert "# working title" in text

    page.focus("#move-3")
    page.keyboard.press("ArrowUp")
    page.wait_for_selector("#rows tr:nth-child(2)[data-file='03 Song.wav']")

    page.goto(page.url.split("?")[0] + "/package")
    page.click("text=Build the package")
    page.wait_for_selector("text=The package is in")
    page.wait_for_selector("iframe.shown")
    page.click("text=Verify it")
    page.wait_for_selector("text=every checksum holds")
    assert watched.errors == []
    assert all(url.startswith((own_desk.address, "file:", "data:", "blob:")) for url in watched.requests)
    package = next(path for path in own_desk.folder.iterdir() if path.is_dir())
    assert files_in(package) == files_in(build_by_command(own_desk, tmp_path)), "byte for byte that of `delivery build`"


def test_a_refused_build_shows_no_sheet_of_the_one_before(chromium: Any, own_desk: Started) -> None:
    page = own_desk.page(chromium).page
    page.click(".releases a")
    page.wait_for_selector("#notes h2")
    page.goto(page.url.split("?")[0] + "/package")
    page.click("form.build button")
    page.wait_for_selector("iframe.shown")
    file = own_desk.folder / "release.yaml"
    text = file.read_text(encoding="utf-8").replace("[sync-48-24]", "[store-master-high-rate]")
    file.write_text(text + "revision: 2\n", encoding="utf-8")
    page.wait_for_selector(f"body[data-digest='{digest_of(file)}']")  # else the build would be refused
    page.click("form.build button")
    page.wait_for_selector("text=No package was written: every deliverable was refused.")
    page.wait_for_selector("iframe.shown", state="detached")


@pytest.mark.thorough(1)
@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (390, "dark")])
def test_axe_finds_nothing(chromium: Any, desk: Started, scheme: str, width: int) -> None:
    """axe-core: WCAG 2.2 A and AA, on every page."""
    from axe_playwright_python.sync_playwright import Axe

    how = {"viewport": {"width": width, "height": 900}, "color_scheme": scheme, "reduced_motion": "reduce"}
    page = desk.page(chromium, **how, bypass_csp=True).page  # axe is put into the page
    found = {"releases": Axe().run(page)}
    page.click(".releases a")
    page.wait_for_selector("#notes h2")
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    found["sheet"] = Axe().run(page)
    at = page.url
    for part in OF_RELEASE:
        page.goto(f"{at}{part}")
        found[part] = Axe().run(page)
    page.click("text=To the samples")
    page.wait_for_selector("#detail:has-text('Every sample')")
    found["zoomed"] = Axe().run(page)
    moving = (
        "document.getAnimations().length + (getComputedStyle(document.documentElement).scrollBehavior === 'smooth')"
    )
    assert page.evaluate(moving) == 0, "the visitor asked for reduced motion"
    for name in LEDGER_PAGES:
        page.goto(at.partition("release/")[0] + name)
        found[name] = Axe().run(page)
    (desk.folder / "release.yaml").write_text("title: [\n", encoding="utf-8")
    page.goto(at)
    found["broken"] = Axe().run(page)
    page.goto(f"{at}/nowhere")
    found["unknown"] = Axe().run(page)
    assert {name: one.generate_report() for name, one in found.items() if one.violations_count} == {}
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0, "nothing is wider than the window"


def test_a_second_start_finds_the_first_and_closing_ends_it(chromium: Any, own_desk: Started) -> None:
    again = subprocess.run(
        [sys.executable, "-m", "delivery", "desk", "--no-browser"],
        env=own_desk.environment,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert again.stdout.splitlines()[0] == own_desk.address
    page = own_desk.page(chromium).page
    page.click("text=Close the desk")
    page.wait_for_selector("h1:has-text('Closed')")
    assert own_desk.process.wait(30) == 0
    left = Path(own_desk.environment["XDG_DATA_HOME"]) / "delivery" / "desk"
    assert sorted(path.name for path in left.iterdir()) == ["opened.json", "releases.json"]


def test_nothing_is_cut_at_twice_the_size(chromium: Any, desk: Started) -> None:
    """WCAG 2.2, 1.4.4 and 1.4.10: a window of 1280 px at 200 % is one of 640 CSS px."""
    page = desk.page(chromium, viewport={"width": 640, "height": 450}, device_scale_factor=2).page
    top = page.url
    page.click(".releases a")
    page.wait_for_selector("#notes h2")
    at = page.url
    for address in (top, at, *(at + part for part in OF_RELEASE), *(top + name for name in LEDGER_PAGES)):
        page.goto(address)
        wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert wide <= 0, address
