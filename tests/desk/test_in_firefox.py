"""The desk in the distribution's own Firefox: let in, edited, moved, heard, built, verified; no page too wide."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
import soundfile

from tests.desk.hand import ARROW_UP, ENTER, TAB, Hand
from tests.desk.started import Started
from tests.report.firefox import browser, needs_firefox

pytestmark = [needs_firefox(), pytest.mark.slow]
PAGES = ("", "open", "new-spec", "history", "specs", "specs/sync-48-24", "received", "compare")
OF_RELEASE = ("", "?columns=all", "/track/1", "/package", "/specs", "/client-sheet")
WIDER = "return document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture(scope="module")
def opened() -> Iterator[Hand]:
    with browser() as firefox:
        yield Hand(firefox)


@pytest.mark.thorough
def test_a_release_is_completed_played_and_built(opened: Hand, own_desk: Started) -> None:
    chance = np.random.default_rng(3)
    soundfile.write(own_desk.folder / "02 Song.wav", 0.1 * chance.standard_normal((8 * 44_100, 2)), 44_100, "PCM_24")
    opened.go(own_desk.file.as_uri())
    opened.until("return document.querySelector('h1')?.textContent === 'Releases'")
    assert opened.ask("return location.origin + '/'") == own_desk.address
    assert opened.ask("return document.cookie") == "", "scripts cannot read the cookie"
    opened.click(".releases a")
    opened.find("#notes h2")
    release = opened.ask("return location.href")

    opened.fill("#c-1-title", "Salt Road")
    opened.press(ENTER)
    opened.until("return document.activeElement.id === 'c-2-title'")
    opened.fill("#c-1-isrc", "ZZ-OSL-26-0000")
    opened.press(TAB)
    opened.find("#c-1-isrc-why")
    opened.fill("#c-1-isrc", "ZZ-OSL-26-00001")
    opened.press(TAB)
    opened.until("return document.getElementById('c-1-isrc-why') === null")
    assert 'isrc: "ZZOSL2600001"' in (own_desk.folder / "release.yaml").read_text(encoding="utf-8")
    opened.ask("document.getElementById('move-3').focus()")
    opened.press(ARROW_UP)
    opened.until("return document.querySelector('#rows tr:nth-child(2)').dataset.file === '03 Song.wav'")

    opened.find("#state-3 a")
    opened.go(f"{release}/track/3")
    opened.find("article.track")
    opened.ask("document.body.focus()")
    opened.press(" ")
    opened.until("return /^0:0[1-8]/.test(document.querySelector('#player .time').textContent)")
    assert "of 0:08.0" in opened.ask("return document.querySelector('#player .time').textContent")

    opened.go(f"{release}/package")
    opened.click("form.build button")
    opened.until("return document.body.innerText.includes('The package is in')")
    opened.find("iframe.shown")
    opened.click("button[data-post$='/verify']")
    opened.until("return document.body.innerText.includes('every checksum holds')")


@pytest.mark.thorough
@pytest.mark.parametrize("width", [1280, 390])
def test_no_page_is_wider_than_the_window(opened: Hand, desk: Started, width: int) -> None:
    opened.go(desk.file.as_uri())
    opened.until("return document.querySelector('h1')?.textContent === 'Releases'")
    top = opened.ask("return document.baseURI")
    opened.firefox.command("WebDriver:SetWindowRect", width=width, height=900)
    opened.click(".releases a")
    opened.find("#state-1 a")
    release = opened.ask("return location.href")
    assert opened.ask("return innerWidth") <= max(width, 500), "a window of Firefox is 450 px wide at least"
    for address in (*(top + name for name in PAGES), *(release + part for part in OF_RELEASE)):
        opened.go(address)
        opened.until("return document.readyState === 'complete'")
        assert opened.ask(WIDER) <= 0, address
        if address == release:
            opened.find("#notes h2")
            opened.picture(desk.folder.parent / f"firefox-{width}.png")
