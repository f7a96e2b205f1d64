"""Two files beside each other as one picture: loudness of each section, transients, width, what is left, tone. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from math import ceil, floor, log10
from statistics import median

from delivery.model.pair import Pair
from delivery.model.sections import SectionSource
from delivery.report.view import words
from delivery.report.view.pair import third_octave

WIDTH, LEFT, RIGHT, TOP = 720, 44, 712, 14
STEPS_HEIGHT, STRIP_HEIGHT, TONE_HEIGHT = 200, 40, 100
TITLE, ROW = 28, 16
"""From a panel to the next one's title, and from one line of labels to the next."""
ROOM = 84.0, 48.0
"""Width of a step's label and of a section's name: where there is less, it is left out; the table has all."""
LEAST_DB = 1.0
"""Scale of a difference at least; smaller ones would look large."""
BELOW_DB = 15.0
"""What is left is drawn down to this below its median: a silent second would flatten everything else."""
TONE_HZ = (31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000, 16_000)

Points = Sequence[tuple[float, float | None]]
Scale = Callable[[float], float]


@dataclass(frozen=True, slots=True)
class Mark:
    """A text at a position of the picture."""

    x: float
    y: float
    text: str
    kind: str = ""
    """Of text: how it is set."""


@dataclass(frozen=True, slots=True)
class Line:
    """A polyline: 'one' or 'other'."""

    kind: str
    points: str


@dataclass(frozen=True, slots=True)
class Panel:
    """A part of the picture with its own scale."""

    top: float
    bottom: float
    lines: tuple[Line, ...]
    grid: tuple[float, ...]
    marks: tuple[Mark, ...]
    edges: tuple[float, ...] = ()
    end: float = 0.0
    """Where its labels end."""


@dataclass(frozen=True, slots=True)
class Picture:
    """An SVG of WIDTH by *height*."""

    panels: tuple[Panel, ...]
    height: float
    width: int = WIDTH


def picture(pair: Pair) -> Picture | None:
    """None with fewer than two sections. The second file is drawn at the first one's level: less the gain between."""
    if len(pair.sections) < 2:
        return None
    start_s, end_s = pair.sections[0][0].start_s, pair.sections[-1][0].end_s

    def x(at_s: float) -> float:
        return round(LEFT + (RIGHT - LEFT) * min(max((at_s - start_s) / (end_s - start_s), 0.0), 1.0), 1)

    panels = [_loudness(pair, x)]
    for title, values in _differences(pair):
        if any(value is not None for value in values):
            panels.append(_strip(title, panels[-1].end, pair, values, x))
    if pair.residual and pair.residual.curve_db:
        panels.append(_left(pair, panels[-1].end, x))
    if len(pair.tone_hz) > 1:
        panels.append(_tone(pair, panels[-1].end))
    return Picture(tuple(panels), panels[-1].end + 6)


def _loudness(pair: Pair, x: Scale) -> Panel:
    gain_db, foot = pair.gain_db or 0.0, TOP + STEPS_HEIGHT
    mine = [one.loudness_lufs for _, one, _ in pair.sections]
    theirs = [other.loudness_lufs - gain_db for _, _, other in pair.sections]
    low, high = floor(min(*mine, *theirs)) - 1, ceil(max(*mine, *theirs)) + 1
    y = _scale(TOP, foot, low, high)
    marks = [_level(y(lufs), str(lufs)) for lufs in range(low, high + 1, max(1, (high - low) // 6))]
    names = [(x((each.start_s + each.end_s) / 2), _short(pair, each.name)) for each, _, _ in pair.sections]
    steps = [(x(each.after.start_s), f"{each.one_lu:+.1f} / {each.other_lu:+.1f}") for each in pair.contrasts]
    marks += _apart(names, foot + 18, ROOM[1], "name")
    marks += _apart(steps, foot + 18 + 2 * ROW, ROOM[0], "step")
    lines = (*_lines("one", _steps(pair, mine, x), y), *_lines("other", _steps(pair, theirs, x), y))
    edges = tuple(x(section.start_s) for section, _, _ in pair.sections[1:])
    return Panel(TOP, foot, lines, (), tuple(marks), edges, foot + 18 + 3 * ROW)


def _differences(pair: Pair) -> Iterator[tuple[str, list[float | None]]]:
    """Of each section, the second file less the first."""
    for title, name in (("Crest factor", "crest_db"), ("PSR", "psr_db"), ("Width, side over mid", "side_mid_db")):
        values = [(getattr(one, name), getattr(other, name)) for _, one, other in pair.sections]
        yield f"{title}: 2 less 1, dB", [_less(*both) for both in values]
    for band, place in enumerate(("below 190 Hz", "190 Hz to 3 kHz", "above 3 kHz")):
        values = [(one.attack_db[band], other.attack_db[band]) for _, one, other in pair.sections]
        yield f"Strongest hits, {place}: 2 less 1, dB", [_less(*both) for both in values]


def _less(one: float | None, other: float | None) -> float | None:
    return None if one is None or other is None else other - one


def _strip(title: str, above: float, pair: Pair, values: Sequence[float | None], x: Scale) -> Panel:
    top = above + TITLE
    reach = max(LEAST_DB, *(float(ceil(abs(value))) for value in values if value is not None))
    y = _scale(top, top + STRIP_HEIGHT, -reach, reach)
    marks = (Mark(LEFT, top - 5, title, "title"), *(_level(y(db), f"{db:+.0f}") for db in (-reach, reach)))
    lines = tuple(_lines("other", _steps(pair, values, x), y))
    edges = tuple(x(section.start_s) for section, _, _ in pair.sections[1:])
    return Panel(top, top + STRIP_HEIGHT, lines, (y(0),), marks, edges, top + STRIP_HEIGHT)


def _left(pair: Pair, above: float, x: Scale) -> Panel:
    assert pair.residual
    top, start_s = above + TITLE, pair.sections[0][0].start_s
    curve = pair.residual.curve_db
    low = floor((median(curve) - BELOW_DB) / 10) * 10
    high = max(ceil(max(curve) / 10) * 10, low + 10)
    y = _scale(top, top + STRIP_HEIGHT, low, high)
    title = Mark(LEFT, top - 5, "Residual, 2 subtracted from 1, each second, dB", "title")
    points = [(x(start_s + at + 0.5), max(value, low)) for at, value in enumerate(curve)]
    marks = (title, *(_level(y(db), str(db)) for db in (low, high)))
    return Panel(top, top + STRIP_HEIGHT, tuple(_lines("other", points, y)), (), marks, end=top + STRIP_HEIGHT)


def _tone(pair: Pair, above: float) -> Panel:
    top, first, last = above + TITLE, log10(pair.tone_hz[0]), log10(pair.tone_hz[-1])
    reach = max(LEAST_DB, *(float(ceil(abs(level))) for level in pair.tone_db))
    y = _scale(top, top + TONE_HEIGHT, -reach, reach)

    def x(hz: float) -> float:
        return round(LEFT + (RIGHT - LEFT) * (log10(hz) - first) / (last - first), 1)

    named = [hz for hz in TONE_HZ if pair.tone_hz[0] * 0.99 <= hz <= pair.tone_hz[-1] * 1.01]
    foot = top + TONE_HEIGHT + ROW
    marks = (
        Mark(LEFT, top - 5, "Third octaves at equal loudness: 2 less 1, dB", "title"),
        *(_level(y(db), f"{db:+.0f}" if db else "0") for db in (-reach, 0.0, reach)),
        *(Mark(min(x(hz), RIGHT - 24), foot, third_octave(hz), "name") for hz in named),
    )
    points = [(x(hz), level) for hz, level in zip(pair.tone_hz, pair.tone_db, strict=True)]
    return Panel(top, top + TONE_HEIGHT, tuple(_lines("other", points, y)), (y(0),), marks, end=foot)


def _scale(top: float, bottom: float, low: float, high: float) -> Scale:
    def y(value: float) -> float:
        return round(bottom - (bottom - top) * (value - low) / (high - low), 1)

    return y


def _steps(pair: Pair, values: Sequence[float | None], x: Scale) -> list[tuple[float, float | None]]:
    rows = zip(pair.sections, values, strict=True)
    return [(x(at_s), value) for (section, _, _), value in rows for at_s in (section.start_s, section.end_s)]


def _lines(kind: str, points: Points, y: Scale) -> Iterator[Line]:
    """A polyline for each run of known values."""
    run: list[str] = []
    for at, value in (*points, (0.0, None)):
        if value is not None:
            run.append(f"{at},{y(value)}")
        elif run:
            yield Line(kind, " ".join(run))
            run = []


def _level(y: float, text: str) -> Mark:
    return Mark(LEFT - 6, y + 4, text, "level")


def _apart(texts: Sequence[tuple[float, str]], y: float, room: float, kind: str) -> list[Mark]:
    """On the first of two lines that has room; a text for which neither has is left out."""
    ends, found = [-room, -room], []
    for at, text in texts:
        row = next((row for row in (0, 1) if at - ends[row] >= room), None)
        if row is not None:
            ends[row] = at
            found.append(Mark(at, y + row * ROW, text, kind))
    return found


def _short(pair: Pair, name: str) -> str:
    """'3' for a section that was found and is called 'section 3'."""
    return name.removeprefix("section ") if pair.section_source is SectionSource.FOUND else words.plain(name)
