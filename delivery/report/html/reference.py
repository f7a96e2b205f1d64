"""A song or an album beside a reference playlist as one HTML file, with the face of the delivery sheet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from delivery.model.reference import BandSpread, Beside, ReferenceComparison
from delivery.report.html.page import environment, policy, template_text
from delivery.report.view import reference as view
from delivery.report.view import words
from delivery.report.view.reference_opening import opening
from delivery.report.view.reference_page import band_points, cells, level_marks

WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 720, 260, 40, 710, 12, 230
PLAYBACK_COLUMNS = ("LUFS", "Song: gain, dB", "True peak, dBTP", "Reference: gain, dB", "True peak, dBTP")
EVERY_BAND = 3
"""Every third third-octave is named below the chart."""


@dataclass(frozen=True, slots=True)
class Tick:
    """A labelled position of an axis."""

    at: float
    text: str


@dataclass(frozen=True, slots=True)
class Chart:
    """Third octaves less the median, as points of an SVG of WIDTH by HEIGHT."""

    song: str
    half: str
    levels: tuple[Tick, ...]
    bands: tuple[Tick, ...]
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = RIGHT


@dataclass(frozen=True, slots=True)
class Page:
    """The page of a comparison with a reference."""

    title: str
    opening: tuple[str, ...]
    chart: Chart | None
    quartiles: bool
    tables: tuple[tuple[str, tuple[tuple[str, ...], ...]], ...]
    """Caption and rows: name with unit, song, median, middle half, difference."""
    playback: tuple[tuple[str, ...], ...]
    places: tuple[tuple[str, ...], ...]
    """As PLACE_HEADS."""
    bars: str


def render(found: ReferenceComparison) -> bytes:
    """UTF-8, LF; the same bytes for the same comparison. No network, no script."""
    made = (
        environment()
        .get_template("reference.html.j2")
        .render(
            **contents(found),
            style=template_text("sheet.css") + template_text("comparison.css"),
            policy=policy(()),
        )
    )
    return made.encode("utf-8", errors="replace")


def contents(found: ReferenceComparison) -> dict[str, Any]:
    """What the page prints, by the names of its template: also for a page of another face."""
    songs = (*((found.album,) if found.album else ()), *found.songs)
    return {
        "name": words.plain(found.reference.name),
        "tracks": words.counted(len(found.reference.tracks), "track"),
        "pages": [_page(song) for song in songs],
        "playback_columns": PLAYBACK_COLUMNS,
        "place_columns": ("Time", *view.PLACE_HEADS[1:]),
        "place_note": view.PLACE_NOTE,
        "remarks": [*view.remarks(found), *view.CAUTION],
    }


def _page(song: Beside) -> Page:
    tables = (
        ("Figures", tuple(map(cells, view.rows(song)))),
        ("Third octaves at matched loudness", tuple(map(cells, view.band_rows(song.third_octaves)))),
    )
    return Page(
        words.plain(song.title),
        opening(song),
        chart(song.third_octaves),
        song.figures["integrated_lufs"].q25 is not None,
        tables,
        view.playback_rows(song),
        view.place_rows(song),
        view.bar_remark(song),
    )


def chart(bands: tuple[BandSpread, ...]) -> Chart | None:
    """None where there are no quartiles to draw."""
    known = band_points(bands)
    if not known:
        return None
    reach, marks = level_marks(known)

    def x(at: int) -> float:
        return round(LEFT + (RIGHT - LEFT) * at / (len(known) - 1), 1)

    def y(db: float) -> float:
        return round((TOP + BOTTOM) / 2 - (BOTTOM - TOP) / 2 * db / reach, 1)

    upper = [f"{x(at)},{y(band.q75)}" for at, band in enumerate(known)]
    lower = [f"{x(at)},{y(band.q25)}" for at, band in enumerate(known)]
    return Chart(
        " ".join(f"{x(at)},{y(band.song)}" for at, band in enumerate(known)),
        " ".join([*upper, *reversed(lower)]),
        tuple(Tick(y(db), f"{db:+d}" if db else "0") for db in marks),
        tuple(Tick(x(at), band.name) for at, band in enumerate(known) if at % EVERY_BAND == 0),
    )
