"""Curves for the HTML sheet: paths, and places in percent, so that a page of any width can draw them. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import log10

from delivery.model.bounds import rounded
from delivery.report.view.plots import LoudnessCurve, Spectrum, Tick, Waveform
from delivery.report.view.track_page import TrackPage
from delivery.report.view.words import at as time_at

ACROSS = 1000.0
"""Width of a plot in its own units; its height is 100."""
SILENT_DB = -90.0
CLOSE = 0.012
"""Marks nearer than this share of the width have one label."""


@dataclass(frozen=True, slots=True)
class Mark:
    """Something at a place: shares of the plot's width and height, from its upper left corner."""

    x: float
    y: float
    text: str

    @property
    def left(self) -> str:
        """Position from the left, in percent."""
        return _percent(self.x)

    @property
    def top(self) -> str:
        """Position from the top, in percent."""
        return _percent(self.y)


@dataclass(frozen=True, slots=True)
class Wave:
    """A waveform, ready to draw."""

    path: str
    ceiling: tuple[float, ...]
    overs: tuple[Mark, ...]
    over_lines: tuple[Mark, ...]
    peak: Mark | None
    peaks_db: str
    """The higher of both sides, dBFS, one for each column: what the pointer reads."""


@dataclass(frozen=True, slots=True)
class Loud:
    """A loudness curve, ready to draw."""

    line: str
    area: str
    levels: tuple[Mark, ...]
    window: tuple[float, float] | None
    """Top and height."""
    integrated: float | None
    loudest: Mark | None
    values: str
    first_s: float
    step_s: float


@dataclass(frozen=True, slots=True)
class Plots:
    """The plots of a track."""

    duration_s: float
    times: tuple[Mark, ...]
    wave: Wave | None
    loud: Loud | None


@dataclass(frozen=True, slots=True)
class Bars:
    """A spectrum, ready to draw."""

    bars: tuple[tuple[float, float, float, float], ...]
    """x, y, width, height in a field of 1000 by 100."""
    levels: tuple[Mark, ...]
    bands: tuple[Mark, ...]


def plots(page: TrackPage) -> Plots | None:
    """Waveform and loudness over one axis of time; None where neither could be drawn."""
    first = page.waveform or page.loudness
    if first is None:
        return None
    times = tuple(Mark(tick.at / first.duration_s, 0.0, tick.text) for tick in first.times)
    wave = _wave(page.waveform) if page.waveform else None
    return Plots(first.duration_s, times, wave, _loud(page.loudness) if page.loudness else None)


def _wave(wave: Waveform) -> Wave:
    count = len(wave.high)
    across = [ACROSS * (at + 0.5) / count for at in range(count)]
    upper = [f"{_short(x)} {_short(50 - 50 * _within(high))}" for x, high in zip(across, wave.high, strict=True)]
    lower = [f"{_short(x)} {_short(50 - 50 * _within(low))}" for x, low in zip(across, wave.low, strict=True)]
    peaks = [max(abs(low), abs(high)) for low, high in zip(wave.low, wave.high, strict=True)]
    lines = tuple(Mark(over.at_s / wave.duration_s, 0.0, over.number) for over in wave.overs)
    peak = Mark(wave.peak.at_s / wave.duration_s, 0.0, wave.peak.text) if wave.peak and not wave.overs else None
    return Wave(
        path=f"M{'L'.join([*upper, *reversed(lower)])}Z",
        ceiling=(50 - 50 * wave.ceiling.at, 50 + 50 * wave.ceiling.at) if wave.ceiling else (),
        overs=tuple(_together(lines)),
        over_lines=lines,
        peak=peak,
        peaks_db=" ".join(_level(peak) for peak in peaks),
    )


def _short(value: float) -> str:
    """To the tenth, which is finer than a screen; a whole number without its point."""
    return f"{value:.1f}".removesuffix(".0")


def _within(value: float) -> float:
    return min(max(value, -1.0), 1.0)


def _level(amplitude: float) -> str:
    return rounded(max(SILENT_DB, 20 * log10(amplitude)) if amplitude > 0 else SILENT_DB, 1)


def _together(marks: Sequence[Mark]) -> Iterator[Mark]:
    """Numbers of adjacent marks are joined: '3–5'."""
    group: list[Mark] = []
    for mark in marks:
        if group and mark.x - group[-1].x > CLOSE:
            yield _joined(group)
            group = []
        group.append(mark)
    if group:
        yield _joined(group)


def _joined(group: list[Mark]) -> Mark:
    text = group[0].text if len(group) == 1 else f"{group[0].text}\u2013{group[-1].text}"
    return Mark((group[0].x + group[-1].x) / 2, 0.0, text)


def _loud(curve: LoudnessCurve) -> Loud:
    low, high = curve.levels[0].at, curve.levels[-1].at

    def down(level: float) -> float:
        return min(max((high - level) / (high - low), 0.0), 1.0)

    points = [
        (ACROSS * (curve.first_s + at * curve.step_s) / curve.duration_s, 100 * down(level))
        for at, level in enumerate(curve.short_term_lufs)
    ]
    line = "L".join(f"{_short(x)} {_short(y)}" for x, y in points)
    window = None
    if curve.window:
        top = 0.0 if curve.window.high is None else 100 * down(curve.window.high)
        foot = 100.0 if curve.window.low is None else 100 * down(curve.window.low)
        window = (top, max(foot - top, 1.5))
    return Loud(
        line=f"M{line}",
        area=f"M{points[0][0]:.1f} 100L{line}L{points[-1][0]:.1f} 100Z",
        levels=_levels(curve.levels, low, high),
        window=window,
        integrated=100 * down(curve.integrated.at) if curve.integrated else None,
        loudest=Mark(curve.loudest_at_s / curve.duration_s, down(curve.loudest.at), curve.loudest_text)
        if curve.loudest
        else None,
        values=" ".join(rounded(level, 1) for level in curve.short_term_lufs),
        first_s=curve.first_s,
        step_s=curve.step_s,
    )


def _levels(ticks: Sequence[Tick], low: float, high: float) -> tuple[Mark, ...]:
    return tuple(Mark(0.0, (high - tick.at) / (high - low), tick.text) for tick in ticks)


def bars(spectrum: Spectrum) -> Bars:
    """Third-octave levels on a logarithmic axis."""
    half = 10**0.05
    left, right = log10(spectrum.hz[0] / half), log10(spectrum.hz[-1] * half)
    low, high = spectrum.levels[0].at, spectrum.levels[-1].at

    def across(hz: float) -> float:
        return (log10(hz) - left) / (right - left)

    def one(hz: float, db: float) -> tuple[float, float, float, float]:
        edge, end = ACROSS * across(hz / half) + 2, ACROSS * across(hz * half) - 2
        top = 100 * min(max((high - db) / (high - low), 0.0), 1.0)
        return round(edge, 1), round(top, 1), round(end - edge, 1), round(100 - top, 1)

    return Bars(
        bars=tuple(one(hz, db) for hz, db in zip(spectrum.hz, spectrum.db, strict=True)),
        levels=_levels(spectrum.levels, low, high),
        bands=tuple(Mark(across(tick.at), 0.0, tick.text.rstrip()) for tick in spectrum.bands[::2]),
    )


def beam(share: float) -> tuple[float, float]:
    """Left edge and width of a bar from the middle of a field of 1000: right for more, left for less."""
    half = ACROSS / 2
    return round(half + half * min(share, 0.0), 1), round(half * abs(share), 1)


@dataclass(frozen=True, slots=True)
class Time:
    """A place to jump to."""

    at_s: float
    text: str


def jumps(at_s: Sequence[float]) -> tuple[Time, ...]:
    """Links to times of the waveform."""
    return tuple(Time(at, time_at(at)) for at in at_s)


def _percent(share: float) -> str:
    return f"{100 * min(max(share, 0.0), 1.0):.3f}".rstrip("0").rstrip(".")
