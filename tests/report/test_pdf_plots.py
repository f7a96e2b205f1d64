"""Plots say what was measured: limits, windows, peaks and overs are where their numbers belong."""

from __future__ import annotations

from typing import Any

import pytest

from delivery.report.pdf import plots
from delivery.report.pdf.flow import Flow, Points
from delivery.report.pdf.fonts import FontBook
from delivery.report.pdf.look import ACCENT, INK, TINT, WINDOW, sheet
from delivery.report.pdf.type import Line, Setter
from delivery.report.view.make import view_of
from delivery.report.view.texts import words_of
from delivery.report.view.track_page import TrackPage
from tests import samples

LEFT, WIDTH, HEIGHT = 50.0, 500.0, 100.0


class Watched(Flow):
    """A flow that remembers what was drawn."""

    def __init__(self, text: Any) -> None:
        super().__init__(sheet("A4"), Setter(FontBook(words_of(text), "en")))
        self.strokes: list[tuple[Points, str, tuple[float, ...]]] = []
        self.areas: list[tuple[Points, str]] = []
        self.output: list[tuple[str, float, float]] = []

    def stroke(self, points: Points, _weight: float, colour: str, dash: tuple[float, ...] = ()) -> None:
        self.strokes.append((points, colour, dash))

    def area(self, points: Points, colour: str) -> None:
        self.areas.append((points, colour))

    def put(self, line: Line, x: float, y: float, _align: str = "left", _width: float = 0.0) -> None:
        self.output.append(("".join(str(run.glyphs) for run in line.runs), x, y))


def page(delivery: samples.Delivery, track: int = 1) -> TrackPage:
    return view_of(delivery, samples.FIGURES).tracks[track - 1]


def wave(delivery: samples.Delivery, track: int = 1) -> Watched:
    shown = page(delivery, track)
    flow = Watched(shown)
    assert shown.waveform
    plots.waveform(flow, shown.waveform, LEFT, WIDTH, HEIGHT)
    return flow


def loudness(delivery: samples.Delivery) -> Watched:
    shown = page(delivery)
    flow = Watched(shown)
    assert shown.loudness
    plots.loudness(flow, shown.loudness, LEFT, WIDTH, HEIGHT)
    return flow


def test_the_ceiling_is_dotted_at_its_amplitude_on_both_sides() -> None:
    """-1 dBTP is 0.8913 of full scale: 44.6 points from the middle of a picture 100 points high."""
    flow = wave(samples.delivery(1))
    middle = next(points[0][1] for points, _, dash in flow.strokes if not dash) + HEIGHT / 2
    heights = [points[0][1] - middle for points, colour, dash in flow.strokes if dash and colour == INK]
    assert heights == [pytest.approx(-44.56, abs=0.01), pytest.approx(44.56, abs=0.01)]


def test_the_highest_peak_is_marked_where_it_is_with_its_number() -> None:
    came = samples.measurement(1)
    share = came.value("true_peak_at_s") / came.value("duration_s")
    flow = wave(samples.delivery(1))
    x = LEFT + plots.AXIS + share * (WIDTH - plots.AXIS)
    assert any(points[0][0] == pytest.approx(x) and colour == INK for points, colour, dash in flow.strokes if not dash)
    sentence = f"\u2212{-came.value('true_peak_dbtp'):.2f}\u00a0dBTP"
    assert [abs(at - x) < 70 for text, at, _ in flow.output if text == sentence] == [True]


def test_overs_are_drawn_at_their_times_with_numbers() -> None:
    flow = wave(samples.troubled(2), 2)
    duration_s = samples.measurement(2).value("duration_s")
    wanted = [LEFT + plots.AXIS + at / duration_s * (WIDTH - plots.AXIS) for at in (12.44, 61.02, 118.3)]
    tips = [points[-1][0] for points, colour in flow.areas if colour == INK]
    assert tips == [pytest.approx(x) for x in wanted]
    numbers = {text: x for text, x, _ in flow.output if text in "123"}
    assert [numbers[name] + 20 for name in "123"] == [pytest.approx(x) for x in wanted]


def test_a_window_is_the_only_shaded_area() -> None:
    """From -12.5 to -13.5 LUFS on a scale of so many LU from top to foot."""
    flow = loudness(samples.windowed())
    curve = page(samples.windowed()).loudness
    assert curve
    ((points, colour),) = flow.areas
    assert colour == WINDOW
    low, high = curve.levels[0].at, curve.levels[-1].at
    heights = sorted({y for _, y in points})
    assert heights[1] - heights[0] == pytest.approx(max(HEIGHT / (high - low), plots.THINNEST))
    assert (heights[0] + heights[1]) / 2 - 8 - flow.sheet.top == pytest.approx(HEIGHT * (high + 13.0) / (high - low))


def test_without_a_window_the_curve_has_its_tint() -> None:
    assert [colour for _, colour in loudness(samples.delivery(1)).areas] == [TINT]


def test_the_loudest_place_has_its_number_beside_it() -> None:
    came = samples.measurement(1)
    flow = loudness(samples.delivery(1))
    sentence = f"\u2212{-came.value('short_term_max_lufs'):.1f}"
    share = (came.value("short_term_max_at_s") + 1.5) / came.value("duration_s")
    x = LEFT + plots.AXIS + share * (WIDTH - plots.AXIS)
    assert any(text == sentence and abs(at - x) < 45 for text, at, _ in flow.output)
    assert any(colour == ACCENT for _, colour, _ in flow.strokes)
