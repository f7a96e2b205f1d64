"""The HTML sheet in a real browser: layout, keyboard, accessibility, and not one request."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from delivery.report.html import sheet as sheet_html
from delivery.report.view.make import view_of
from tests import sample_albums, samples
from tests.report import browser as chromium

pytestmark = chromium.needs_browser()

PHONE, DESK = 390, 1280
BROKEN = "not one of them is ours " * 9


def html(delivery: samples.Delivery) -> bytes:
    return sheet_html.render(view_of(delivery, samples.FIGURES))


@pytest.fixture(scope="module")
def whole() -> bytes:
    return html(sample_albums.sided(sample_albums.joined(samples.logged(samples.troubled(6))), 3))


def zoomed(page: Any, track: int = 1) -> tuple[float, float]:
    """Start and width of what the plots show, in shares of the track."""
    box = page.locator(f"#plots-{track} svg").first.get_attribute("viewBox").split()
    return float(box[0]) / 1000, float(box[2]) / 1000


@pytest.mark.thorough(2)
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [PHONE, DESK])
def test_page_fits_the_window_and_makes_no_requests(
    browser: Any, whole: bytes, tmp_path: Path, width: int, scheme: str
) -> None:
    seen = chromium.opened(browser, whole, tmp_path, width=width, color_scheme=scheme)
    assert seen.page.evaluate("document.documentElement.scrollWidth") <= width
    clipped = seen.page.evaluate(
        "[...document.querySelectorAll('h1,h2,h3,p,dd,dt,li,button')].filter(e => e.offsetParent && "
        "e.getBoundingClientRect().right > innerWidth + 1 && !e.closest('.scroll')).map(e => e.outerHTML)"
    )
    assert clipped == []
    assert seen.errors == []
    assert [url for url in seen.requests if not url.startswith(("file:", "data:"))] == []
    assert sum(url.startswith("file:") for url in seen.requests) == 1


def test_a_phone_shows_results_and_problems_without_scrolling_sideways(
    browser: Any, whole: bytes, tmp_path: Path
) -> None:
    """Every result is within the width, problems are above the files, and files are folded by spec."""
    page = chromium.opened(browser, whole, tmp_path, width=PHONE).page
    assert page.locator("#parts details[open]").count() == 0
    assert page.locator("#parts summary").count() == page.locator("#routes tbody tr").count()
    page.locator("#parts summary").first.click()
    within = "all => all.filter(e => e.offsetParent).map(e => e.getBoundingClientRect().right <= innerWidth)"
    for place in ("#routes .verdict", "#notices .says", "#parts .verdict", "#notices td", "#log td"):
        seen = page.locator(place).evaluate_all(within)
        assert seen, place
        assert all(seen), place
    assert page.locator("#routes .scroll, #notices .scroll, #order .scroll, #parts .scroll, #log .scroll").count() == 0
    top = "document.querySelector('{}').getBoundingClientRect().top"
    assert page.evaluate(top.format("#notices")) < page.evaluate(top.format("#parts"))


@pytest.mark.thorough(4)
@pytest.mark.parametrize(("width", "scheme"), [(DESK, "light"), (PHONE, "dark")])
@pytest.mark.parametrize("name", ["troubled", "bare", "single", "window", "album"])
def test_accessibility_rules_are_met(browser: Any, tmp_path: Path, name: str, width: int, scheme: str) -> None:
    """Every rule of axe-core's WCAG 2.2 A and AA sets and its best practices."""
    from axe_playwright_python.sync_playwright import Axe

    delivery = {
        "troubled": samples.logged(samples.troubled(6)),
        "bare": samples.bare(),
        "single": samples.delivery(1, samples.SPECS[:1]),
        "window": samples.windowed(),
        "album": sample_albums.album(7),
    }[name]
    seen = chromium.opened(browser, html(delivery), tmp_path, width=width, color_scheme=scheme)
    results = Axe().run(seen.page).response
    assert [(found["id"], found["nodes"][0]["html"][:200]) for found in results["violations"]] == []
    assert len(results["passes"]) > 20


def test_the_finder_finds(browser: Any, tmp_path: Path) -> None:
    """The rules are awake: a page with a fault in it is reported so."""
    from axe_playwright_python.sync_playwright import Axe

    broken = html(samples.bare()).replace(b'lang="en"', b"", 1)
    seen = chromium.opened(browser, broken, tmp_path)
    assert "html-has-lang" in {found["id"] for found in Axe().run(seen.page).response["violations"]}


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_hostile_titles_run_nothing_and_break_nothing(browser: Any, tmp_path: Path, width: int) -> None:
    attacks = (
        *samples.HOSTILE,
        "<script>document.title='ran'</script>",
        "<img src=x onerror=\"document.title='ran'\">",
        '" onmouseover="document.title=\'ran\'" x="',
        "</title></style></script><script>document.title='ran'</script>",
        "javascript:document.title='ran'",
        "x" * 400,
        BROKEN,
    )
    seen = chromium.opened(browser, html(samples.of_titles(attacks, samples.SPECS[:1])), tmp_path, width=width)
    assert seen.page.title() == "Delivery sheet: Merrow & the Glass Tide: Harbour Arithmetic, revision 3"
    assert seen.page.locator("script").count() == len(sheet_html.SCRIPTS)
    assert seen.page.locator("img").count() == 0
    assert seen.page.evaluate("document.documentElement.scrollWidth") <= width
    assert seen.errors == []
    heads = seen.page.locator("article h3 bdi").all_inner_texts()
    assert "<script>document.title='ran'</script>" in heads


def test_a_script_that_is_not_ours_is_stopped_by_the_policy(browser: Any, tmp_path: Path) -> None:
    planted = html(samples.bare()).replace(b"</body>", b"<script>document.title='ran'</script></body>")
    seen = chromium.opened(browser, planted, tmp_path)
    assert seen.page.title() != "ran"
    assert any("Content Security Policy" in error for error in seen.errors)


def test_a_request_is_stopped_by_the_policy(browser: Any, whole: bytes, tmp_path: Path) -> None:
    seen = chromium.opened(browser, whole, tmp_path)
    blocked = seen.page.evaluate("fetch('https://delivery.invalid/').then(() => 'left', () => 'stopped')")
    assert blocked == "stopped"
    assert [url for url in seen.requests if "delivery.invalid" in url] == []


def test_tables_sort_by_number_and_back(browser: Any, whole: bytes, tmp_path: Path) -> None:
    page = chromium.opened(browser, whole, tmp_path).page
    page.locator("#parts summary").first.click()
    table = page.locator("table.parts").first
    head = table.locator("th", has_text="True peak")
    button = head.get_by_role("button")

    def column() -> list[str]:
        return [text.replace("\u2212", "-") for text in table.locator("tbody td:nth-child(5)").all_inner_texts()]

    button.click()
    assert head.get_attribute("aria-sort") == "ascending"
    measured = [float(text) for text in column() if text != "–"]
    assert len(measured) == 4  # of six songs one is refused and one unusable
    assert measured == sorted(measured)
    assert column()[-1] == "–"
    button.press("Enter")
    assert head.get_attribute("aria-sort") == "descending"
    measured = [float(text) for text in column() if text != "–"]
    assert measured == sorted(measured, reverse=True)
    assert page.locator("table.parts [aria-sort]").count() == 1


def test_the_keyboard_reaches_everything_and_walks_the_plots(browser: Any, whole: bytes, tmp_path: Path) -> None:
    page = chromium.opened(browser, whole, tmp_path).page
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    slider = page.locator("#plots-1").get_by_role("slider")
    assert slider.get_attribute("aria-label") == "Place in Track 1"
    slider.focus()
    page.keyboard.press("End")
    duration_s = samples.measurement(1).value("duration_s")
    assert float(slider.get_attribute("aria-valuenow")) == pytest.approx(duration_s, abs=0.06)
    page.keyboard.press("Home")
    for _ in range(3):
        page.keyboard.press("PageUp")
    assert float(slider.get_attribute("aria-valuenow")) == pytest.approx(0.3 * duration_s, abs=0.1)
    page.keyboard.press("+")
    assert zoomed(page)[1] == pytest.approx(0.5, abs=0.001)
    page.keyboard.press("ArrowRight")
    assert float(slider.get_attribute("aria-valuenow")) == pytest.approx(0.305 * duration_s, abs=0.1)
    page.keyboard.press("0")
    assert zoomed(page) == (0.0, 1.0)
    reached = page.evaluate(
        "[...document.querySelectorAll('a[href],button,[tabindex]')]"
        ".filter(e => !e.closest('[hidden]') && e.tabIndex < 0).length"
    )
    assert reached == 0


def test_what_the_pointer_reads_is_what_was_measured(browser: Any, whole: bytes, tmp_path: Path) -> None:
    page = chromium.opened(browser, whole, tmp_path).page
    curve = view_of(samples.troubled(6), samples.FIGURES).tracks[0].loudness
    assert curve
    field = page.locator("#plots-1 .loud .field")
    field.scroll_into_view_if_needed()
    box = field.bounding_box()
    at = 60
    time_s = curve.first_s + at * curve.step_s
    page.mouse.move(box["x"] + box["width"] * time_s / curve.duration_s, box["y"] + 20)
    output = page.locator("#plots-1 .readout").inner_text().replace("\u2212", "-")
    assert output.startswith("1:01.")
    assert f"loudness {curve.short_term_lufs[at]:.1f} LUFS" in output


def test_dragging_zooms_and_the_button_resets(browser: Any, whole: bytes, tmp_path: Path) -> None:
    page = chromium.opened(browser, whole, tmp_path).page
    field = page.locator("#plots-1 .wave .field")
    field.scroll_into_view_if_needed()
    box = field.bounding_box()
    page.mouse.move(box["x"] + box["width"] * 0.25, box["y"] + 30)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.5, box["y"] + 30, steps=4)
    page.mouse.up()
    start, span = zoomed(page)
    assert (start, span) == (pytest.approx(0.25, abs=0.01), pytest.approx(0.25, abs=0.01))
    ticks = page.locator("#plots-1 .tick").all_inner_texts()
    assert ticks == sorted(ticks)
    assert len(ticks) >= 3
    page.get_by_role("group", name="Zoom, Track 1").get_by_role("button", name="Whole track").click()
    assert zoomed(page) == (0.0, 1.0)


def test_a_finding_leads_to_its_place(browser: Any, whole: bytes, tmp_path: Path) -> None:
    page = chromium.opened(browser, whole, tmp_path).page
    page.locator("#notices a.jump", has_text="1:58.3").click()
    slider = page.locator("#plots-2").get_by_role("slider")
    assert slider.get_attribute("aria-valuenow") == "118.3"
    assert page.evaluate("document.activeElement.getAttribute('role')") == "slider"
    start, span = zoomed(page, 2)
    duration_s = samples.measurement(2).value("duration_s")
    assert start * duration_s < 118.3 < (start + span) * duration_s
    assert span * duration_s == pytest.approx(10, abs=0.1)
    assert page.locator("#plots-2 .field").first.is_visible()


def test_light_and_dark_change_by_hand_and_are_not_stored(browser: Any, whole: bytes, tmp_path: Path) -> None:
    page = chromium.opened(browser, whole, tmp_path, color_scheme="light").page
    ground = "getComputedStyle(document.documentElement).backgroundColor"
    assert page.evaluate(ground) == "rgb(255, 255, 255)"
    page.get_by_role("button", name="Dark page").click()
    assert page.evaluate(ground) == "rgb(19, 23, 25)"
    page.get_by_role("button", name="Light page").click()
    assert page.evaluate(ground) == "rgb(255, 255, 255)"
    assert page.evaluate("localStorage.length + sessionStorage.length + document.cookie.length") == 0


def test_it_can_be_read_without_scripts(browser: Any, whole: bytes, tmp_path: Path) -> None:
    context = browser.new_context(java_script_enabled=False, viewport={"width": DESK, "height": 900})
    page = context.new_page()
    (tmp_path / "sheet.html").write_bytes(whole)
    page.goto((tmp_path / "sheet.html").as_uri())
    assert page.locator("#plots-1 svg").first.is_visible()
    assert page.locator("#plots-1 .tick").count() > 3
    assert page.locator("#plots-1 .tools").is_hidden()
    page.locator("#notices a.jump").first.click()
    assert page.url.endswith("#track-2")
    context.close()


def test_it_prints_on_paper_in_light_without_its_controls(browser: Any, whole: bytes, tmp_path: Path) -> None:
    from io import BytesIO

    from pypdf import PdfReader

    page = chromium.opened(browser, whole, tmp_path, color_scheme="dark").page
    printed = PdfReader(BytesIO(page.pdf(format="A4", prefer_css_page_size=False, print_background=True)))
    text = "".join(each.extract_text() for each in printed.pages)
    assert 6 <= len(printed.pages) <= 20
    assert "Zoom in" not in text
    assert "QC log" in text
    songs = [each for each in printed.pages if "Third-octave" in each.extract_text()]
    assert len(songs) == 5  # a page each; the unusable one has no plots
    page.emulate_media(media="print")
    assert page.evaluate("getComputedStyle(document.documentElement).backgroundColor") == "rgb(255, 255, 255)"
    assert page.evaluate("[...document.querySelectorAll('.tools,nav,.theme')].every(e => !e.offsetParent)")


def test_scripts_are_set_in_their_own_direction(browser: Any, tmp_path: Path) -> None:
    titles = tuple(samples.SCRIPTS.values())
    delivery = samples.of_titles(titles, samples.SPECS[:1])
    page = chromium.opened(browser, html(delivery), tmp_path).page
    heads = page.locator("article h3 bdi")
    assert heads.all_inner_texts() == list(titles)
    directions = heads.evaluate_all("all => all.map(e => e.matches(':dir(rtl)'))")
    assert directions == [name in ("Arabic", "Hebrew") for name in samples.SCRIPTS]


def test_glyphs_that_travel_are_the_ones_shown(browser: Any, tmp_path: Path) -> None:
    """Each script's title is set in the font of the page, letters that shaping takes apart included."""
    titles = tuple(samples.SCRIPTS.values())
    page = chromium.opened(browser, html(samples.of_titles(titles, samples.SPECS[:1])), tmp_path).page
    page.evaluate("document.fonts.ready")
    loaded = page.evaluate("[...document.fonts].filter(f => f.family.includes('sheet')).map(f => f.status)")
    assert len(loaded) > 5
    assert set(loaded) == {"loaded"}
