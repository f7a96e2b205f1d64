"""Zoomed in on a track to its samples; a master replaced while its page is open; titles in any script are readable."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from tests.desk.conftest import Client
from tests.desk.started import Started
from tests.report.browser import needs_browser

RATE_HZ = 44_100


@pytest.mark.parametrize(
    "query", ["", "from_s=0&to_s=100&columns=9", "from_s=x&to_s=1&columns=9", "from_s=0&to_s=1&columns=99999999"]
)
def test_only_a_bounded_stretch_of_an_opened_master_is_read(client: Client, query: str, tmp_path: Path) -> None:
    at = f"{client.release}/sound/1/detail"
    assert client.get(f"{at}?{query}").status_code == 400
    assert client.get(f"{at}?from_s=0.5&to_s=0.501&columns=300").json()["per_column"] == 1
    assert client.get(f"{client.release}/sound/9/detail?from_s=0&to_s=1&columns=300").status_code == 404
    stray = tmp_path / "outside.wav"
    (client.folder / "01 Song.wav").rename(stray)
    (client.folder / "01 Song.wav").symlink_to(stray)
    assert client.get(f"{at}?from_s=0&to_s=1&columns=300").status_code == 404, "links are resolved first"


def axis(page: Any) -> list[float]:
    """The labels of the waveform's axis, dBFS from the top."""
    texts = page.eval_on_selector_all(".plot.wave .axis span", "(all) => all.map((one) => one.textContent)")
    return [float(text.replace("\N{MINUS SIGN}", "-").replace("\N{INFINITY}", "inf")) for text in texts]


@pytest.mark.thorough
@needs_browser()
@pytest.mark.slow
def test_a_track_is_zoomed_to_its_samples(chromium: Any, desk: Started) -> None:
    """The values on the page are those that libsndfile reads at that sample."""
    watched = desk.page(chromium, viewport={"width": 1280, "height": 900})
    page = watched.page
    page.click(".releases a")
    page.click("#state-2 a")
    page.wait_for_selector("article.track")
    page.focus(".times")
    for _ in range(50):
        page.keyboard.press("PageUp")
        if float(page.get_attribute(".times", "aria-valuenow")) > 0.8:
            break
    page.click("text=Zoom in")
    page.wait_for_selector("#detail:has-text('in each column')")
    page.click("text=To the samples")
    page.wait_for_selector("#detail:has-text('Every sample of the master; left solid, right dashed')")
    page.focus(".times")
    page.keyboard.press("ArrowRight")
    said = page.get_attribute(".times", "aria-valuetext")
    found = re.search(r"sample (\d+): left (\S+), right (\S+)", said)
    assert found, said
    sound, _ = soundfile.read(desk.folder / "02 Song.wav", always_2d=True)
    assert [float(found[2]), float(found[3])] == pytest.approx(sound[int(found[1])], abs=1e-6)
    assert int(found[1]) == pytest.approx(float(page.get_attribute(".times", "aria-valuenow")) * RATE_HZ, abs=1)
    drawn = page.eval_on_selector_all("svg.detail path.samples", "(all) => all.map((one) => one.getAttribute('d'))")
    assert [d.count("L") + 1 for d in drawn] == [
        len(re.findall(r"M", dots))
        for dots in page.eval_on_selector_all(
            "svg.detail path.dots", "(all) => all.map((one) => one.getAttribute('d'))"
        )
    ]
    scale = 2.0 ** round(np.log2(10 ** (axis(page)[0] / 20)))
    heights = [float(y) for y in re.findall(r" (-?[\d.]+)", drawn[0])]
    assert 50 - 50 * float(found[2]) / scale in [pytest.approx(y, abs=0.01) for y in heights], "the left sample, drawn"
    both = heights + [float(y) for y in re.findall(r" (-?[\d.]+)", drawn[1])]
    assert 25 < max(abs(50 - y) for y in both) <= 50, "the smallest step of 6 dB that holds all in sight"
    assert f"Full height is \N{MINUS SIGN}{-axis(page)[0]:.0f} dBFS" in page.inner_text("#detail")
    page.screenshot(path=str(desk.folder.parent / "samples.png"))
    page.click("text=Whole track")
    page.wait_for_selector("svg.detail", state="hidden")
    assert axis(page) == [0, -6, -np.inf, -6, 0], "the whole track to full scale"
    assert watched.errors == []


@needs_browser()
@pytest.mark.slow
def test_a_master_replaced_while_its_page_is_open_is_measured_again(chromium: Any, desk: Started) -> None:
    page = desk.page(chromium, viewport={"width": 1280, "height": 900}).page
    page.click(".releases a")
    page.wait_for_selector("#state-2 a")
    page.wait_for_selector("#length-2:has-text('0:02')")
    page.fill("#c-1-title", "half typed")
    new = desk.folder / ".new"
    chance = np.random.default_rng(5)
    soundfile.write(new, 0.01 * chance.standard_normal((6 * RATE_HZ, 2)), RATE_HZ, "PCM_24", format="WAV")
    new.replace(desk.folder / "02 Song.wav")
    page.wait_for_selector("#status:has-text('changed by another program')")
    page.wait_for_selector("#length-2:has-text('0:06')")
    assert page.input_value("#c-1-title") == "half typed"
    (desk.folder / "03 Song.wav").unlink()
    page.wait_for_selector(
        "#verdict:has-text('not ready'), #verdict:has-text('gave nothing'), #verdict:has-text('unusable')"
    )
    assert "03 Song.wav" in page.inner_text("main")


@needs_browser()
@pytest.mark.slow
def test_a_title_in_another_script_has_its_letters(chromium: Any, desk: Started) -> None:
    """Cut to the characters of the page and carried by it, as on the sheet; also those that are typed later."""
    watched = desk.page(chromium, viewport={"width": 1280, "height": 900})
    page = watched.page
    text = (desk.folder / "release.yaml").read_text(encoding="utf-8")
    (desk.folder / "release.yaml").write_text(text.replace("Song 2", "潮の計算"), encoding="utf-8")
    page.click(".releases a")
    page.wait_for_selector("#notes h2")
    loaded = "[...document.fonts].filter((one) => one.family.includes('sheet') && one.status === 'loaded').length"
    page.evaluate("document.fonts.ready")
    assert page.evaluate(loaded) == 1
    page.fill("#c-1-title", "שלום")
    page.keyboard.press("Enter")
    page.wait_for_selector("#undo:not([disabled])")
    for _ in range(200):
        if page.evaluate(loaded) == 2:
            break
        page.wait_for_timeout(100)
    assert page.evaluate(loaded) == 2
    assert watched.errors == []
