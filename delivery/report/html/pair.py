"""Two files beside each other as one HTML page with a picture: what each section's loudness is in both."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

from delivery.model.pair import Pair
from delivery.report.html.page import environment, policy, template_text
from delivery.report.view import words
from delivery.report.view.pair import PairView

WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 720, 336, 44, 712, 14, 260
ROW = 16
"""Neighbours' labels are on two lines, so that short sections keep theirs apart."""


@dataclass(frozen=True, slots=True)
class Mark:
    """A text at a position of the picture."""

    x: float
    y: float
    text: str


@dataclass(frozen=True, slots=True)
class Picture:
    """Sections along time, loudness steps of both files, as an SVG of WIDTH by HEIGHT."""

    one: str
    other: str
    edges: tuple[float, ...]
    levels: tuple[Mark, ...]
    names: tuple[Mark, ...]
    kept: tuple[Mark, ...]
    """At each boundary the step in the one and in the other, in LU."""


def render(pair: Pair, view: PairView, one: str, other: str) -> bytes:
    """UTF-8, LF; the same bytes for the same comparison. No network, no script."""
    made = (
        environment()
        .get_template("pair.html.j2")
        .render(
            one=words.plain(one),
            other=words.plain(other),
            view=view,
            picture=picture(pair),
            style=template_text("sheet.css") + template_text("comparison.css"),
            policy=policy(()),
        )
    )
    return made.encode("utf-8", errors="replace")


def picture(pair: Pair) -> Picture | None:
    """None with fewer than two sections. The second file is drawn at the first one's level: less the gain between."""
    if len(pair.sections) < 2:
        return None
    gain_db = pair.gain_db or 0.0
    mine = [one.loudness_lufs for _, one, _ in pair.sections]
    theirs = [other.loudness_lufs - gain_db for _, _, other in pair.sections]
    low, high = floor(min(*mine, *theirs)) - 1, ceil(max(*mine, *theirs)) + 1
    start_s, end_s = pair.sections[0][0].start_s, pair.sections[-1][0].end_s

    def x(at_s: float) -> float:
        return round(LEFT + (RIGHT - LEFT) * (at_s - start_s) / (end_s - start_s), 1)

    def y(lufs: float) -> float:
        return round(BOTTOM - (BOTTOM - TOP) * (lufs - low) / (high - low), 1)

    def steps(levels: list[float]) -> str:
        rows = zip(pair.sections, levels, strict=True)
        return " ".join(f"{x(row[0].start_s)},{y(lufs)} {x(row[0].end_s)},{y(lufs)}" for row, lufs in rows)

    sections = [section for section, _, _ in pair.sections]
    every = max(1, (high - low) // 6)
    return Picture(
        steps(mine),
        steps(theirs),
        tuple(x(section.start_s) for section in sections[1:]),
        tuple(Mark(LEFT - 6, y(lufs) + 4, str(lufs)) for lufs in range(low, high + 1, every)),
        tuple(
            Mark(x((each.start_s + each.end_s) / 2), BOTTOM + 18 + at % 2 * ROW, words.plain(each.name))
            for at, each in enumerate(sections)
        ),
        tuple(
            Mark(x(each.after.start_s), BOTTOM + 52 + at % 2 * ROW, f"{each.one_lu:+.1f} / {each.other_lu:+.1f}")
            for at, each in enumerate(pair.contrasts)
        ),
    )
