"""The desk used as on any day, in real Chromium: two tabs, the keyboard alone, listening, a server that is killed."""

from __future__ import annotations

import re
import signal
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from delivery import load_release
from tests.desk.started import Started, start
from tests.report.browser import needs_browser

pytestmark = [needs_browser(), pytest.mark.slow]
PATIENCE_S = 90.0
LISTEN_IN = """
window.heard = [];
const Plain = window.Audio;
window.Audio = function (...what) { const made = new Plain(...what); window.heard.push(made); return made; };
"""
"""The page's own players, so that a test can ask the browser what it decoded."""

OUT_OF_SIGHT = """() => {
Object.defineProperty(document, "hidden", { get: () => true });
document.dispatchEvent(new Event("visibilitychange"));
}"""
"""Without a screen every tab counts as seen; in a window only the one in front does."""


def release_text(desk: Started) -> str:
    return (desk.folder / "release.yaml").read_text(encoding="utf-8")


def until(true: Any, what: str) -> None:
    end = time.monotonic() + PATIENCE_S
    while not true():
        assert time.monotonic() < end, what
        time.sleep(0.05)


def holds(page: Any, expression: str) -> None:
    """Wait for it, asked from outside: the page's policy lets no text become script, a waiting test's neither."""
    until(lambda: page.evaluate(expression), expression)


@pytest.mark.thorough
def test_two_tabs_on_one_release(chromium: Any, desk: Started) -> None:
    """What one tab writes is shown in the other, which can go on at once; nothing of either is lost."""
    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    first = desk.page(context).page
    first.click(".releases a")
    first.wait_for_selector("#notes h2")
    second = context.new_page()
    second.set_default_timeout(60_000)
    second.goto(first.url)
    second.wait_for_selector("#notes h2")
    second.fill("#c-2-title", "half typed")

    first.fill("#c-1-title", "From the first")
    first.keyboard.press("Tab")
    holds(second, "document.getElementById('c-1-title').value === 'From the first'")
    assert second.input_value("#c-2-title") == "half typed", "a cell being edited keeps what is typed"
    second.keyboard.press("Enter")
    holds(first, "document.getElementById('c-2-title').value === 'half typed'")
    titles = [track.title for track in load_release(desk.folder / "release.yaml").tracks]
    assert titles == ["From the first", "half typed", "Song 3"]

    for _ in range(7):  # a browser keeps six connections to one server
        more = context.new_page()
        more.set_default_timeout(60_000)
        more.goto(first.url)
        more.wait_for_selector("#notes h2")
        more.evaluate(OUT_OF_SIGHT)


def test_a_cell_that_was_not_written_keeps_its_text_with_a_message(chromium: Any, desk: Started) -> None:
    page = desk.page(chromium).page
    page.click(".releases a")
    page.wait_for_selector("#notes h2")
    page.evaluate("document.body.dataset.digest = 'another'")  # as if the file had changed a moment ago
    page.fill("#c-1-title", "Mine")
    page.keyboard.press("Enter")
    page.wait_for_selector("#c-1-title-why:has-text('Not written')")
    assert page.input_value("#c-1-title") == "Mine"
    page.focus("#c-1-title")
    page.keyboard.press("Enter")
    page.wait_for_selector("#c-1-title-why", state="detached")
    assert 'title: "Mine"' in release_text(desk)


def tab_to(page: Any, selector: str, most: int = 250) -> None:
    """Move the focus with the Tab key alone."""
    for _ in range(most):
        page.keyboard.press("Tab")
        if page.evaluate("(wanted) => document.activeElement.matches(wanted)", selector):
            return
    raise AssertionError(f"the Tab key does not reach {selector}")


def test_the_keyboard_alone_opens_a_folder_accepts_and_builds(chromium: Any, desk: Started, tmp_path: Path) -> None:
    """WCAG 2.2, 2.1.1: every step with Tab, Enter, space and arrows. Then the next note has the focus."""
    other = tmp_path / "other"
    other.mkdir()
    for file in desk.folder.iterdir():
        if file.is_file():
            (other / file.name).write_bytes(file.read_bytes())
    text = release_text(desk).replace("deliver_to: [sync-48-24]", "deliver_to: [store-flac-24]")
    (other / "release.yaml").write_text(text.replace("Low Water", "By Keyboard"), encoding="utf-8")
    page = desk.page(chromium, viewport={"width": 1280, "height": 900}).page
    tab_to(page, "a[href='open']")
    page.keyboard.press("Enter")
    page.wait_for_selector("#path")
    tab_to(page, "#path")
    page.keyboard.press("ControlOrMeta+a")
    page.keyboard.type(str(other))
    page.keyboard.press("Enter")
    page.wait_for_selector("#notes h2")
    page.wait_for_selector("#notes details.act")

    note = page.evaluate("() => document.querySelector('#notes form[data-form$=\"/accept\"]').closest('li').id")
    tab_to(page, f"#{note} details.act:has(form[data-form$='/accept']) summary")
    page.keyboard.press("Enter")
    tab_to(page, f"#{note} form[data-form$='/accept'] input[name=by]")
    page.keyboard.press("ControlOrMeta+a")
    page.keyboard.type("A. Moreau")
    page.keyboard.press("Tab")
    page.keyboard.type("heard, it is intended")
    page.keyboard.press("Enter")
    page.wait_for_selector(f"#{note}", state="detached")
    holds(page, "document.activeElement.closest('#notes') !== null")
    assert "heard, it is intended" in (other / "release.yaml").read_text(encoding="utf-8")
    assert page.locator("#notes details[open]").count() == 0, "no form of another note is open"

    page.goto(page.url.split("?")[0] + "/package")
    tab_to(page, "form.build button")
    page.keyboard.press("Enter")
    page.wait_for_selector("text=The package is in")
    tab_to(page, "button[data-post$='/verify']")
    page.keyboard.press("Enter")
    page.wait_for_selector("text=every checksum holds")


@pytest.mark.thorough
def test_a_track_is_played_and_a_place_noted(chromium: Any, desk: Started) -> None:
    """The space bar plays the master (the browser decodes it, and it is not silence), Enter marks a place."""
    rate_hz, chance = 44_100, np.random.default_rng(3)
    sound = 0.1 * chance.standard_normal((8 * rate_hz, 2))
    soundfile.write(desk.folder / "02 Song.wav", sound, rate_hz, "PCM_24")
    watched = desk.page(chromium, viewport={"width": 1280, "height": 900})
    page = watched.page
    page.add_init_script(LISTEN_IN)
    page.click(".releases a")
    page.wait_for_selector("#state-2 a")
    page.goto(page.url.split("?")[0] + "/track/2")
    page.keyboard.press(" ")
    holds(page, "window.heard.some((one) => !one.paused && one.currentTime > 0.5)")
    assert page.evaluate("window.heard[0].webkitAudioDecodedByteCount") > 0
    assert page.evaluate("window.heard[0].duration") == pytest.approx(8, abs=0.01)
    loudest = page.evaluate(
        """async () => {
          const bytes = await (await fetch(window.heard[0].src)).arrayBuffer();
          const sound = await new OfflineAudioContext(2, 1, 44100).decodeAudioData(bytes);
          return Math.max(...sound.getChannelData(0).subarray(0, 44100));
        }"""
    )
    assert loudest == pytest.approx(float(sound[:44_100, 0].max()), abs=1e-3), "the master's own samples"

    page.keyboard.press(" ")
    holds(page, "window.heard[0].paused")
    page.keyboard.press("Enter")
    page.wait_for_selector("#what:focus")
    at_s = float(page.input_value("#at_s"))
    assert at_s == pytest.approx(page.evaluate("window.heard[0].currentTime"), abs=0.002)
    page.keyboard.type("A click")
    tab_to(page, "#noting input[name=by]")
    page.keyboard.press("ControlOrMeta+a")
    page.keyboard.type("A. Moreau")
    page.keyboard.press("Enter")
    page.wait_for_selector("#log td:has-text('A click')")
    (noted,) = load_release(desk.folder / "release.yaml").qc_log
    assert (noted.track, noted.what, noted.by) == (2, "A click", "A. Moreau")
    assert noted.at_s == pytest.approx(at_s, abs=0.002)
    assert page.evaluate("document.activeElement.closest('form')") is None, "the keys of the player are at hand"
    page.keyboard.press(" ")
    holds(page, "!window.heard[0].paused")
    page.keyboard.press(" ")

    page.focus("#log button.hear")
    page.keyboard.press("Enter")
    holds(page, "!window.heard[0].paused")
    page.keyboard.press(" ")
    holds(page, "window.heard[0].paused")
    assert watched.errors == []


def test_a_server_killed_during_a_build_leaves_nothing_and_a_second_start_finds_the_state(
    chromium: Any, own_desk: Started
) -> None:
    before = sorted(path.name for path in own_desk.folder.iterdir())
    page = own_desk.page(chromium).page
    page.click(".releases a")
    page.wait_for_selector("#notes h2")
    page.fill("#c-1-title", "Kept")
    page.keyboard.press("Enter")
    until(lambda: "Kept" in release_text(own_desk), "the title is written at once")
    page.goto(page.url.split("?")[0] + "/package")
    page.click("text=Build the package")
    until(lambda: len(list(own_desk.folder.iterdir())) > len(before), "the build has begun")
    own_desk.process.send_signal(signal.SIGKILL)
    own_desk.process.wait(30)
    until(lambda: sorted(path.name for path in own_desk.folder.iterdir()) == before, "nothing is left behind")
    page.close()

    again = start(own_desk.folder, own_desk.environment)
    try:
        page = again.page(chromium).page
        page.click(".releases a:has-text('Low Water')")
        page.wait_for_selector("#notes h2")
        assert page.input_value("#c-1-title") == "Kept"
        page.goto(page.url.split("?")[0] + "/package")
        page.click("text=Build the package")
        page.wait_for_selector("text=The package is in")
    finally:
        again.process.send_signal(signal.SIGKILL)
        again.process.wait(30)
        assert again.process.stdout is not None
        again.process.stdout.close()

    third = start(own_desk.folder, own_desk.environment)
    try:
        page = third.page(chromium).page
        assert "Last delivery: revision 1" in re.sub(r"\s+", " ", page.inner_text("main"))
        page.click(".releases a:has-text('Low Water')")
        page.wait_for_selector("#notes h2")
        page.goto(page.url.split("?")[0] + "/package")
        page.wait_for_selector("text=Built earlier.")
        page.click("text=Verify it")
        page.wait_for_selector("text=every checksum holds")
    finally:
        third.process.send_signal(signal.SIGTERM)
        third.process.wait(30)
        assert third.process.stdout is not None
        third.process.stdout.close()
