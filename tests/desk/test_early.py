"""What a fast hand does before the page's scripts have arrived is not lost: in Chromium, with the scripts held up."""

from __future__ import annotations

import io
from typing import Any

import pytest
from PIL import Image

from delivery import load_release
from tests.desk.started import Started
from tests.report.browser import needs_browser

pytestmark = [needs_browser(), pytest.mark.slow]


class HeldUp:
    """A page of a checked release, or of one whose check begins with it; its modules arrive when the test lets them."""

    def __init__(self, desk: Started, chromium: Any, *, checked: bool = True) -> None:
        self.page = desk.page(chromium, viewport={"width": 1280, "height": 900}).page
        self.release = self.page.locator(".releases a").first.evaluate("link => link.href")
        self._held: list[Any] = []
        if checked:
            self.page.goto(self.release)
            self.page.wait_for_selector("#notes h2")

    def go(self, to: str, selector: str) -> Any:
        self.page.route("**/static/*.js", self._hold)
        self.page.goto(f"{self.release}{to}", wait_until="commit")
        self.page.wait_for_selector(selector, state="attached")
        return self.page

    def arrive(self) -> None:
        assert self._held, "nothing was held up"
        for route in self._held:
            route.continue_()
        self.page.unroute("**/static/*.js")

    def _hold(self, route: Any) -> None:
        if route.request.url.endswith("early.js"):
            route.continue_()
        else:
            self._held.append(route)


@pytest.mark.thorough
def test_a_sheet_chosen_before_the_scripts_arrive_is_read(chromium: Any, desk: Started) -> None:
    held = HeldUp(desk, chromium)
    page = held.go("/client-sheet", "#pick-sheet")
    sheet = b"No,Title\n1,Salt Road\n2,Song 2\n3,Song 3\n"
    page.set_input_files("#pick-sheet", {"name": "a.csv", "mimeType": "text/csv", "buffer": sheet})
    held.arrive()
    page.wait_for_selector("text=Another sheet")  # read, and its page made anew


def test_a_cover_chosen_before_the_scripts_arrive_is_written_once(chromium: Any, desk: Started) -> None:
    held = HeldUp(desk, chromium)
    page = held.go("", ".pick-cover")
    picture = io.BytesIO()
    Image.new("RGB", (300, 300), "navy").save(picture, "PNG")
    page.set_input_files(".pick-cover", {"name": "a.png", "mimeType": "image/png", "buffer": picture.getvalue()})
    held.arrive()
    page.wait_for_selector(".drop-cover img")
    release = load_release(desk.folder / "release.yaml")
    assert release.artwork is not None
    assert [path.name for path in desk.folder.glob("*.png")] == [release.artwork.name]


def test_a_button_and_a_form_used_before_the_scripts_arrive_are_answered(chromium: Any, desk: Started) -> None:
    held = HeldUp(desk, chromium)
    page = held.go("/specs", "form.specs button")
    page.check("input[name='store-flac-24']")
    page.click("form.specs button")
    page.click("text=Close the desk")
    page.click("text=Close the desk")
    posted: list[str] = []
    page.on("request", lambda request: posted.append(request.url) if request.method == "POST" else None)
    page.route("**/close", lambda route: route.fulfill(json={"message": "not in this test"}, status=400))
    held.arrive()
    page.wait_for_selector("#notes h2")
    assert load_release(desk.folder / "release.yaml").deliver_to == ("store-flac-24", "sync-48-24")
    assert len([url for url in posted if url.endswith("/close")]) == 1, "kept once, handed over once"


def test_nothing_is_kept_any_more_when_the_scripts_are_there(chromium: Any, desk: Started) -> None:
    page = HeldUp(desk, chromium).page
    page.wait_for_load_state()
    page.fill("#c-1-title", "One")
    page.keyboard.press("Enter")
    page.wait_for_selector("#undo:not([disabled])")
    with page.expect_response("**/undo"):  # the button is disabled at once, and while it is answered
        page.click("#undo")
    page.wait_for_selector("#undo[disabled]")
    assert "One" not in (desk.folder / "release.yaml").read_text(encoding="utf-8")


def test_undo_pressed_in_an_open_cell_undoes_what_that_cell_wrote(chromium: Any, desk: Started) -> None:
    """The press closes the cell, which is written; on a slow machine its answer comes after the press."""
    page = HeldUp(desk, chromium).page
    page.wait_for_load_state()
    page.fill("#c-1-title", "One")
    page.keyboard.press("Enter")
    page.wait_for_selector("#undo:not([disabled])")
    page.fill("#c-2-title", "Two")
    held: list[Any] = []
    page.route("**/cells", lambda route: held.append(route))
    page.click("#undo")
    page.wait_for_timeout(300)
    with page.expect_response("**/undo"):
        held[0].continue_()
    text = (desk.folder / "release.yaml").read_text(encoding="utf-8")
    assert "One" in text
    assert "Two" not in text


def test_a_check_that_ends_before_the_scripts_arrive_is_shown(chromium: Any, desk: Started) -> None:
    held = HeldUp(desk, chromium, checked=False)
    page = held.go("", "#notes")
    assert page.locator("#notes h2").count() == 0
    other = desk.open(desk.folder).page(chromium).page
    other.goto(held.release)
    other.wait_for_selector("#notes h2")
    held.arrive()
    page.wait_for_selector("#notes h2")
