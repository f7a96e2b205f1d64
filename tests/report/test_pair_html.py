"""The page of two files beside each other: its picture against closed forms, and the page in a real browser."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from delivery import figures
from delivery.model.pair import Pair, Polarity, Residual
from delivery.model.sections import Section, SectionLevels
from delivery.report.html.pair import picture, render
from delivery.report.html.pair_picture import STRIP_HEIGHT, Panel
from delivery.report.view.pair import pair_view
from tests.report import browser as chromium

PHONE, DESK = 390, 1280
CRESTS_DB = (-1.0, 0.0, 2.0)
TONE_HZ = tuple(1000 * 10 ** (k / 10) for k in range(-15, 13))


def levels(lufs: float, crest_db: float, psr_db: float | None = 9.0, width_db: float | None = -6.0) -> SectionLevels:
    return SectionLevels(lufs, -8.0, width_db, crest_db, psr_db, (6.0, 7.0, None))


def pair(sections: int = 3, psr_db: float | None = 8.0) -> Pair:
    """A master 6 dB louder; its sections are 20 s long, 4 LU apart in the mix and 2 LU in the master."""
    rows = []
    for at in range(sections):
        section = Section(f"section {at + 1}", 20.0 * at, 20.0 * at + 20)
        mine = levels(-20 - 4 * (at % 2), 12.0)
        theirs = levels(-14 - 2 * (at % 2), 12.0 + CRESTS_DB[at % 3], psr_db)
        rows.append((section, mine, theirs))
    return Pair(
        identical=False,
        same_recording=True,
        offset_s=0.0,
        gain_db=6.0,
        polarity=Polarity.SAME,
        shared_s=20.0 * sections,
        residual=Residual(-18.0, (-18.0,) * 20 * sections, TONE_HZ, (-18.0,) * len(TONE_HZ)),
        figures={"integrated_lufs": (-20.0, -14.0), "psr_low_db": (9.0, 8.0), "duration_s": (60.0, 138.1)},
        tone_hz=TONE_HZ,
        tone_db=tuple(3.0 if hz > 3000 else 0.0 for hz in TONE_HZ),
        sections=tuple(rows),
    )


def panel(found: Pair, title: str) -> Panel:
    drawn = picture(found)
    assert drawn is not None
    (one,) = [each for each in drawn.panels if any(title in mark.text for mark in each.marks)]
    return one


def heights(points: str) -> list[float]:
    return [float(point.split(",")[1]) for point in points.split()]


def test_differences_of_sections_are_drawn_to_scale() -> None:
    """-1, 0 and +2 dB on a scale of 2 dB either way: a quarter below the middle, in the middle, at the top."""
    crest = panel(pair(), "Crest")
    (line,) = crest.lines
    shares = [(y - crest.top) / STRIP_HEIGHT for y in heights(line.points)]
    assert shares == pytest.approx([0.75, 0.75, 0.5, 0.5, 0.0, 0.0], abs=0.01)


def test_loudness_is_drawn_at_the_level_of_the_first_file() -> None:
    """4 LU in the mix beside 2 LU in the master, from one level: twice the height."""
    drawn = picture(pair())
    assert drawn is not None
    mine, theirs = (heights(line.points) for line in drawn.panels[0].lines)
    assert mine[0] == theirs[0]
    assert (mine[2] - mine[0]) / (theirs[2] - theirs[0]) == pytest.approx(2, rel=0.02)


def test_a_figure_that_was_not_measured_has_no_strip() -> None:
    drawn = picture(pair(psr_db=None))
    assert drawn is not None
    titles = [mark.text for each in drawn.panels for mark in each.marks if mark.kind == "title"]
    assert not any("PSR" in title for title in titles)
    assert not any("above 3 kHz" in title for title in titles), "no hit there"
    assert sum("hits" in title for title in titles) == 2


def test_no_two_labels_of_a_line_lie_on_each_other() -> None:
    """24 short sections: what does not fit is left out of the picture; the table has every step."""
    drawn = picture(pair(24))
    assert drawn is not None
    steps = [mark for mark in drawn.panels[0].marks if mark.kind == "step"]
    assert 8 <= len(steps) < 23
    for row in {mark.y for mark in steps}:
        at = sorted(mark.x for mark in steps if mark.y == row)
        assert min(after - before for before, after in pairwise(at)) >= 80
    shown = pair_view(pair(24), "Mix.wav", "Master.wav", figures())
    assert len(shown.sections) == 24
    assert len(shown.short_sections) == 5


def test_a_length_that_differs_by_minutes_is_printed_as_a_clock() -> None:
    rows = {name: apart for name, _, _, apart in pair_view(pair(), "a.wav", "b.wav", figures()).figures}
    assert rows["Length"] == "+1:18.1"


@pytest.mark.thorough(2)
@chromium.needs_browser()
@pytest.mark.parametrize("colours", ["light", "dark"])
@pytest.mark.parametrize("width", [PHONE, DESK])
def test_the_page_fits_the_window(browser: Any, tmp_path: Path, width: int, colours: str) -> None:
    found = pair(12)
    page = render(found, pair_view(found, "Mix.wav", "Master.wav", figures()), "Mix.wav", "Master.wav")
    seen = chromium.opened(browser, page, tmp_path, width=width, color_scheme=colours)
    assert seen.page.evaluate("document.documentElement.scrollWidth") <= width
    cells = seen.page.locator("td:not(:empty)")
    assert cells.count() > 150
    beyond = "all => all.filter(e => e.getBoundingClientRect().right > innerWidth).map(e => e.innerText)"
    assert cells.evaluate_all(beyond) == []
    assert seen.page.locator("svg.steps text.title").count() == 7
    drawing = "e => { const box = e.getBBox(), all = e.viewBox.baseVal; return [box.x, box.y, all.width, all.height,"
    drawing += " box.x + box.width, box.y + box.height] }"
    left, top, width_drawn, height_drawn, right, foot = seen.page.locator("svg.steps").evaluate(drawing)
    assert min(left, top) >= 0
    assert right <= width_drawn
    assert foot <= height_drawn
    assert seen.errors == []


@pytest.mark.parametrize(
    ("tone_db", "sentence"), [(0.04, "the tone is the same."), (0.2, "the tone agrees within 0.2 dB.")]
)
def test_a_tone_that_hardly_differs(tone_db: float, sentence: str) -> None:
    near = Pair(False, True, offset_s=0.0, gain_db=-3.0, tone_hz=(1000.0,), tone_db=(tone_db,))
    assert pair_view(near, "one.wav", "other.wav", figures()).sentences[1] == f"At equal loudness {sentence}"
