"""The page of a song beside a reference playlist, in a real browser."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from delivery.compare.reference import beside
from delivery.model.reference import ReferenceComparison
from delivery.report.html.reference import render
from tests.compare.test_reference import boosted, figures, peers, playlist
from tests.report import browser as chromium

pytestmark = chromium.needs_browser()

PHONE, DESK = 390, 1280


def page(count: int) -> bytes:
    """A song whose figures have minus signs and two digits before the point, the widest that are usual."""
    reference = playlist(*peers(count))
    song = beside("Low Water", figures(-13.1, boosted(3000, 5100, 11.8), true_peak_dbtp=-10.2), reference)
    return render(ReferenceComparison(reference, {}, (), (), (song,)))


@pytest.mark.thorough(2)
@pytest.mark.parametrize("count", [2, 5])
@pytest.mark.parametrize("width", [PHONE, DESK])
def test_the_page_fits_the_window_and_breaks_no_number(browser: Any, tmp_path: Path, width: int, count: int) -> None:
    seen = chromium.opened(browser, page(count), tmp_path, width=width)
    assert seen.page.evaluate("document.documentElement.scrollWidth") <= width
    cells = seen.page.locator("td:not(:empty)")
    assert cells.count() > 90
    beyond = "all => all.filter(e => e.getBoundingClientRect().right > innerWidth).map(e => e.innerText)"
    assert cells.evaluate_all(beyond) == []
    assert seen.page.locator(".scroll").count() == 0, "nothing is left to scroll sideways"
    lines = (
        "all => all.filter(e => { const range = document.createRange(); range.selectNodeContents(e);"
        " return range.getClientRects().length > 1 }).map(e => e.innerText)"
    )
    assert cells.evaluate_all(lines) == [], "numbers that break over two lines"
    assert seen.errors == []


def test_on_a_phone_each_number_has_the_name_of_its_column(browser: Any, tmp_path: Path) -> None:
    opened = chromium.opened(browser, page(5), tmp_path, width=PHONE).page
    heads = (
        opened.locator("tbody tr")
        .first.locator("td")
        .evaluate_all("all => all.map(e => getComputedStyle(e, '::before').content)")
    )
    assert heads == ['"Song"', '"Median"', '"Middle half"', '"Difference"']
    assert not opened.locator("thead").first.is_visible()
