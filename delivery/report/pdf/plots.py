"""Plots as vectors: waveform, loudness over time, third-octave levels. Axes and words come with the view."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, log10
from typing import Any

from delivery.report.pdf.flow import Flow, Points
from delivery.report.pdf.look import ACCENT, HAIR, HAIRLINE, INK, LABEL, SOFT, TINT, WINDOW
from delivery.report.view.plots import Band, LoudnessCurve, Place, Spectrum, Tick, Waveform
from delivery.report.view.words import typographic

AXIS = 26.0
"""Room for the numbers at the left of a plot."""
CLOSE = 8.0
"""Marks nearer than this share a label."""
THINNEST = 2.4
DOTS = (0.9, 2.1)
FINEST = 480
"""Points of a curve across the page; more could not be seen."""


@dataclass(frozen=True)
class Frame:
    """A plot's area: x from left to right, y from its top (high values) to its foot (low values), in points."""

    flow: Flow
    left: float
    top: float
    width: float
    height: float
    low: float
    high: float

    @property
    def foot(self) -> float:
        """Lower edge, in points."""
        return self.top + self.height

    def x(self, share: float) -> float:
        """Position at *share* of the width, in points."""
        return self.left + self.width * min(max(share, 0.0), 1.0)

    def y(self, value: float) -> float:
        """The height of *value*; what is out of the frame stops at its edge."""
        return self.foot - self.height * min(max((value - self.low) / (self.high - self.low), 0.0), 1.0)

    def label(self, text: str, x: float, y: float, align: str = "left", width: float = 0.0, colour: str = SOFT) -> None:
        """Place a short text at (*x*, *y*), in points."""
        self.flow.put(self.flow.set.line(typographic(text), LABEL.ink(colour)), x, y, align, width)

    def levels(self, ticks: Sequence[Tick]) -> None:
        """Horizontal lines with their numbers at the left; in a low frame not every line has one."""
        every = ceil(LABEL.leading * max(1, len(ticks) - 1) / self.height)
        for at, tick in enumerate(reversed(ticks)):
            y = self.y(tick.at)
            self.flow.stroke([(self.left, y), (self.left + self.width, y)], HAIRLINE, HAIR)
            if at % every:
                continue
            self.label(tick.text, self.left - AXIS, y + 2.3, "right", AXIS - 5)

    def times(self, ticks: Sequence[Tick], duration_s: float, *, words: bool) -> None:
        """Short marks under the frame and, where wanted, the times; the last one is right-aligned at the end."""
        for at, tick in enumerate(ticks):
            x = self.x(tick.at / duration_s)
            self.flow.stroke([(x, self.foot), (x, self.foot + 3)], HAIRLINE, SOFT)
            if words:
                last = at == len(ticks) - 1
                self.label(tick.text, x - 30 if last else x, self.foot + 10, "right" if last else "left", 30)


def waveform(flow: Flow, wave: Waveform, left: float, width: float, height: float) -> None:
    """The picture of the sound at the pen, overs and the highest peak marked above it; the pen moves below."""
    frame = Frame(flow, left + AXIS, flow.y + 12, width - AXIS, height, -1.0, 1.0)
    for level, label in ((1.0, "+1"), (0.0, "0"), (-1.0, "-1")):
        flow.stroke([(frame.left, frame.y(level)), (frame.left + frame.width, frame.y(level))], HAIRLINE, HAIR)
        frame.label(label, left, frame.y(level) + 2.3, "right", AXIS - 5)
    count = len(wave.high)
    across = [frame.x((at + 0.5) / count) for at in range(count)]
    upper = [(x, frame.y(value)) for x, value in zip(across, wave.high, strict=True)]
    lower = [(x, frame.y(value)) for x, value in zip(across, wave.low, strict=True)]
    flow.area([*upper, *reversed(lower)], ACCENT)
    flow.stroke([upper[0], upper[0]] if count == 1 else [*upper], 0.25, ACCENT)
    if wave.ceiling:
        for y in (frame.y(wave.ceiling.at), frame.y(-wave.ceiling.at)):
            flow.stroke([(frame.left, y), (frame.left + frame.width, y)], 0.5, INK, DOTS)
    if wave.overs:
        _overs(frame, wave)
    elif wave.peak:
        _peak(frame, frame.x(wave.peak.at_s / wave.duration_s), wave.peak)
    frame.times(wave.times, wave.duration_s, words=False)
    flow.y = frame.foot + 7


def _overs(frame: Frame, wave: Waveform) -> None:
    """A black triangle and a line at each place, by the number it has in the list; close ones share their label."""
    labels: list[tuple[float, str, str]] = []
    for over in wave.overs:
        x = frame.x(over.at_s / wave.duration_s)
        frame.flow.stroke([(x, frame.top), (x, frame.foot)], 0.5, INK)
        frame.flow.area([(x - 2.4, frame.top - 4.6), (x + 2.4, frame.top - 4.6), (x, frame.top - 0.4)], INK)
        if labels and x - labels[-1][0] < CLOSE:
            labels[-1] = (x, labels[-1][1], over.number)
        else:
            labels.append((x, over.number, ""))
    for x, first, last in labels:
        span = f"{first}\u2013{last}" if last else first
        frame.label(span, x - 20, frame.top - 6.4, "right" if last else "centre", 23 if last else 40, INK)


def _peak(frame: Frame, x: float, peak: Place) -> None:
    """The highest peak: a short line above its place, and its number beside it on the roomier side."""
    frame.flow.stroke([(x, frame.top - 5.5), (x, frame.y(min(peak.at, 1.0)))], 0.5, INK)
    on_left = x > frame.left + frame.width * 0.7
    frame.label(peak.text, x - 62 if on_left else x + 2.5, frame.top - 2.2, "right" if on_left else "left", 59.5, INK)


def loudness(flow: Flow, curve: LoudnessCurve, left: float, width: float, height: float) -> None:
    """Short-term loudness at the pen with its integrated line and its loudest place; the pen moves below."""
    levels = curve.levels
    frame = Frame(flow, left + AXIS, flow.y + 8, width - AXIS, height, levels[0].at, levels[-1].at)
    line = _curve(frame, curve)
    if curve.window:
        _window(frame, curve.window)
    else:
        flow.area([(line[0][0], frame.foot), *line, (line[-1][0], frame.foot)], TINT)
    frame.levels(levels)
    flow.stroke(line, 0.8, ACCENT)
    if curve.integrated:
        y = frame.y(curve.integrated.at)
        flow.stroke([(frame.left, y), (frame.left + frame.width, y)], 0.6, INK, (3.0, 2.0))
    if curve.loudest:
        x, y = frame.x(curve.loudest_at_s / curve.duration_s), frame.y(curve.loudest.at)
        _point(frame, x, y)
        on_left = x > frame.left + frame.width * 0.9
        frame.label(curve.loudest_text, x - 40 if on_left else x + 4, y - 3, "right" if on_left else "left", 36, INK)
    frame.times(curve.times, curve.duration_s, words=True)
    flow.y = frame.foot + 12


def _window(frame: Frame, window: Band) -> None:
    """The only shaded area, so that it is unmistakable; thin ones are drawn thick enough to see."""
    top = frame.y(frame.high if window.high is None else window.high)
    foot = frame.y(frame.low if window.low is None else window.low)
    spare = max(0.0, THINNEST - (foot - top)) / 2
    right = frame.left + frame.width
    corners = [(frame.left, top - spare), (right, top - spare), (right, foot + spare), (frame.left, foot + spare)]
    frame.flow.area(corners, WINDOW)


def _curve(frame: Frame, curve: LoudnessCurve) -> Points:
    """The loudest of each stretch that shares a point of the page."""
    values = curve.short_term_lufs
    each = max(1, -(-len(values) // FINEST))
    return [
        (
            frame.x((curve.first_s + (at + (each - 1) / 2) * curve.step_s) / curve.duration_s),
            frame.y(max(values[at : at + each])),
        )
        for at in range(0, len(values), each)
    ]


def _point(frame: Frame, x: float, y: float) -> None:
    up = frame.flow.sheet.height - y
    frame.flow.mark(lambda canvas: _dot(canvas, x, up))


def _dot(canvas: Any, x: float, y: float) -> None:
    canvas.setFillColor("#ffffff")
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(0.9)
    canvas.setDash([])
    canvas.circle(x, y, 1.9, stroke=1, fill=1)


def spectrum(flow: Flow, bands: Spectrum, left: float, width: float, height: float) -> None:
    """Third-octave levels as bars on a logarithmic axis at the pen; the pen moves below."""
    frame = Frame(flow, left + AXIS, flow.y + 4, width - AXIS, height, bands.levels[0].at, bands.levels[-1].at)
    half = 10**0.05
    low, high = log10(bands.hz[0] / half), log10(bands.hz[-1] * half)

    def across(hz: float) -> float:
        return frame.x((log10(hz) - low) / (high - low))

    frame.levels(bands.levels)
    for hz, db in zip(bands.hz, bands.db, strict=True):
        edge, end, top = across(hz / half) + 0.5, across(hz * half) - 0.5, frame.y(db)
        flow.area([(edge, frame.foot), (edge, top), (end, top), (end, frame.foot)], TINT)
        flow.stroke([(edge, top), (end, top)], 1.1, ACCENT)
    for tick in bands.bands[::2]:
        frame.label(tick.text.rstrip(), across(tick.at) - 20, frame.foot + 10, "centre", 40)
    flow.y = frame.foot + 12
