"""The form on the HTML sheet in a real browser, by keyboard alone; what it makes is read back by the command."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from delivery.__main__ import run
from delivery.intake import load_release
from delivery.pack import layout
from delivery.pipeline import Options, build, resolve_request
from tests.albums import Song, hashes, write_album, write_spec
from tests.report import browser as chromium

pytestmark = chromium.needs_browser()
HOSTILE = '<img src=x onerror=alert(1)> & "Two" #3'


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """The release file, and its package with copies that a browser plays."""
    folder = tmp_path_factory.mktemp("album")
    write_spec(folder, "copies", "{container: {must: [flac]}, bits: {must: [16]}}", "{rate: lower, depth: lower}")
    songs = [Song("One", 44_100, seconds=3), Song("Two", 44_100, seconds=3, seed=2, extra={"title": HOSTILE})]
    album = write_album(folder, songs, ["copies"])
    built = build(resolve_request(album), folder / "out", Options())
    assert built.package
    return album, built.package


@pytest.fixture
def sheet(browser: Any, made: tuple[Path, Path]) -> Iterator[chromium.Watched]:
    watched = chromium.Watched(browser.new_page(viewport={"width": 390, "height": 800}, accept_downloads=True))
    watched.page.goto((made[1] / layout.SHEET_HTML).as_uri())
    yield watched
    assert watched.errors == []
    assert [url for url in watched.requests if not url.startswith(("file:", "data:", "blob:"))] == []
    watched.page.close()


def focused_by_tab(page: Any, selector: str, *, most: int = 80) -> None:
    """Press Tab until the element has the focus: a keyboard reaches it."""
    for _ in range(most):
        if page.evaluate("(selector) => document.activeElement.matches(selector)", selector):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"no way to {selector} by keyboard")


def begin(page: Any) -> None:
    page.locator("nav a[href='#answer']").focus()
    page.keyboard.press("Enter")


def typed(page: Any, selector: str, words: str) -> None:
    focused_by_tab(page, selector)
    page.keyboard.type(words)


def answered(page: Any) -> None:
    """1 approved; two changes of 2, one with a time; a remark, a name: all by keyboard."""
    begin(page)
    focused_by_tab(page, "fieldset[data-number='1'] input")
    page.keyboard.press("ArrowDown")
    focused_by_tab(page, "fieldset[data-number='2'] input")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    typed(page, "fieldset[data-number='2'] li:nth-child(1) .at", "0:01.4")
    typed(page, "fieldset[data-number='2'] li:nth-child(1) .what", "more bass, 1 ok <b>")
    focused_by_tab(page, "fieldset[data-number='2'] [data-do=add]")
    page.keyboard.press("Enter")
    typed(page, "fieldset[data-number='2'] li:nth-child(2) .what", "longer fade")
    typed(page, ".remark", "two seconds more between them")
    typed(page, ".by", "Imke Sandvoort")


def saved(page: Any, into: Path) -> Path:
    focused_by_tab(page, "[data-do=save]")
    with page.expect_download() as download:
        page.keyboard.press("Enter")
    assert download.value.suggested_filename == "delivery-answer.json"
    download.value.save_as(into)
    return into


def stored(album: Path, answer: Path) -> Any:
    """The release file after the command has read the answer, as a copy."""
    text = album.read_text(encoding="utf-8")
    try:
        assert run(["approve", str(album), "--from", str(answer)]) == 0
        return load_release(album)
    finally:
        album.write_text(text, encoding="utf-8")


def check_stored(release: Any) -> None:
    assert release.approval.tracks == (1,)
    assert release.approval.by == "Imke Sandvoort"
    assert [(one.track, one.at_s, one.by, one.decision) for one in release.qc_log] == [
        (2, 1.4, "Imke Sandvoort", ""),
        (2, None, "Imke Sandvoort", ""),
        (None, None, "Imke Sandvoort", ""),
    ]
    assert release.qc_log[0].what.endswith("more bass, 1 ok <b>")
    assert [one.what for one in release.qc_log[1:]] == ["longer fade", "two seconds more between them"]


def test_by_keyboard_the_file_is_made_and_read_back(
    sheet: chromium.Watched, made: tuple[Path, Path], tmp_path: Path
) -> None:
    answered(sheet.page)
    answer = saved(sheet.page, tmp_path / "answer.json")
    assert json.loads(answer.read_text(encoding="utf-8"))["tracks"][1]["title"] == HOSTILE
    check_stored(stored(made[0], answer))
    assert "nothing was sent" in sheet.page.locator("#answer [role=status]").text_content()


def test_the_text_for_a_mail_is_read_back_the_same(
    sheet: chromium.Watched, made: tuple[Path, Path], tmp_path: Path
) -> None:
    answered(sheet.page)
    answer = tmp_path / "mail.txt"
    answer.write_text("Hi Tom,\n\n" + sheet.page.locator("#answer .text").input_value() + "\n", encoding="utf-8")
    check_stored(stored(made[0], answer))


def test_all_tracks_by_one_key(sheet: chromium.Watched, made: tuple[Path, Path], tmp_path: Path) -> None:
    begin(sheet.page)
    focused_by_tab(sheet.page, "[data-do=all]")
    sheet.page.keyboard.press("Enter")
    typed(sheet.page, ".by", "Imke Sandvoort")
    release = stored(made[0], saved(sheet.page, tmp_path / "answer.json"))
    assert release.approval.tracks == (1, 2)
    assert release.approval.copy_at(2).title == HOSTILE
    assert release.qc_log == ()


def test_a_time_is_marked_while_listening(sheet: chromium.Watched) -> None:
    """The copies beside the sheet load under the page's policy, in a page opened from the disk."""
    page = sheet.page
    length_s = page.evaluate(
        """async () => {
            const audio = document.querySelector("fieldset[data-number='2'] audio");
            audio.load();
            await new Promise((done, failed) => {
                audio.onloadedmetadata = done;
                audio.onerror = () => failed(audio.error);
                audio.preload = "auto";
            });
            audio.currentTime = 2.34;
            return audio.duration;
        }"""
    )
    assert length_s == pytest.approx(3.2, abs=0.01)
    begin(page)
    focused_by_tab(page, "fieldset[data-number='2'] input")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("ArrowDown")
    focused_by_tab(page, "fieldset[data-number='2'] [data-do=time]")
    page.keyboard.press("Enter")
    assert page.locator("fieldset[data-number='2'] .at").input_value() == "0:02.3"
    assert page.evaluate("document.activeElement.className") == "what"


@pytest.mark.thorough(2)
@pytest.mark.parametrize(
    ("at", "what", "by", "fault"),
    [
        ("", "", "I. M.", "Track 2: please say what to change"),
        ("half past", "louder", "I. M.", "please write the time like 1:23.4"),
        ("", "louder", "", "Please fill in your name."),
    ],
)
def test_what_is_missing_is_reported_and_focused(
    sheet: chromium.Watched, at: str, what: str, by: str, fault: str
) -> None:
    page = sheet.page
    page.locator("fieldset[data-number='2'] input[value=change]").check()
    page.locator("fieldset[data-number='2'] .at").fill(at)
    page.locator("fieldset[data-number='2'] .what").fill(what)
    page.locator("#answer .by").fill(by)
    page.locator("#answer [data-do=save]").click()
    assert fault in page.locator("#answer [role=status]").text_content()
    assert page.evaluate("document.activeElement.closest('#answer') !== null")


def test_labels_and_width(sheet: chromium.Watched) -> None:
    """axe's rules for forms, names and contrast; nothing is wider than a telephone."""
    from axe_playwright_python.sync_playwright import Axe

    page = sheet.page
    page.locator("fieldset[data-number='2'] input[value=change]").check()
    found = Axe().run(page, context="#answer").response["violations"]
    assert [(one["id"], [node["html"] for node in one["nodes"]]) for one in found] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_a_release_that_is_approved_has_no_form(made: tuple[Path, Path], tmp_path: Path) -> None:
    """And the same inputs give the same bytes with it."""
    album, package = made
    again = build(resolve_request(album), tmp_path / "again", Options()).package
    assert again
    assert hashes(again) == hashes(package)
    assert b'id="answer"' in (package / layout.SHEET_HTML).read_bytes()
    text = album.read_text(encoding="utf-8")
    try:
        assert run(["approve", str(album), "--by", "I. Merrow", "--date", "2026-05-12"]) == 0
        approved = build(resolve_request(album), tmp_path / "approved", Options()).package
    finally:
        album.write_text(text, encoding="utf-8")
    assert approved
    assert b'id="answer"' not in (approved / layout.SHEET_HTML).read_bytes()
