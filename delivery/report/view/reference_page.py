"""The page of the sheet that sets a release beside a reference playlist. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from delivery.model.reference import BandSpread, Beside, ReferenceComparison
from delivery.report.view import reference as view
from delivery.report.view import words
from delivery.report.view.reference_opening import opening

TITLE = "Beside the reference playlist"
SONG_COLUMNS = ("Song", "LUFS", "In short")


@dataclass(frozen=True, slots=True)
class BandPoint:
    """A third octave less the median of the playlist, in dB."""

    name: str
    song: float
    q25: float
    q75: float


@dataclass(frozen=True, slots=True)
class ReferencePage:
    """A song, or an album as one programme, beside the reference."""

    title: str
    against: str
    """'folk, 5 tracks'."""
    opening: tuple[str, ...]
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    """Name with unit, song, median, middle half, difference."""
    bands: tuple[BandPoint, ...]
    """Empty where there are no quartiles to draw."""
    songs: tuple[tuple[str, ...], ...]
    """Of an album: title, integrated loudness, and the opening of each song."""
    cautions: tuple[str, ...]


def reference_page(found: ReferenceComparison) -> ReferencePage:
    """The page of *found*: the album where there is one, else its song."""
    whole = found.album or found.songs[0]
    quartiles = whole.figures["integrated_lufs"].q25 is not None
    return ReferencePage(
        words.plain(whole.title),
        f"{words.plain(found.reference.name)}, {words.counted(len(found.reference.tracks), 'track')}",
        opening(whole),
        ("Figure", "Song", "Median", "Middle half" if quartiles else "Reference", "Difference"),
        tuple(cells(row) for row in view.rows(whole)),
        band_points(whole.third_octaves),
        tuple(_in_short(song) for song in found.songs) if found.album else (),
        (*view.doubts(found), *view.CAUTION),
    )


def _in_short(song: Beside) -> tuple[str, str, str]:
    return words.plain(song.title), view.rows(song, ["integrated_lufs"])[0].song, " ".join(opening(song))


def cells(row: view.Row) -> tuple[str, ...]:
    """One row of a table: name with unit, song, median, middle half, difference."""
    place = f", {row.place}" if row.place not in ("", "inside") else ""
    name = f"{row.name}, {row.unit}" if row.unit else row.name
    return name, row.song, row.median, row.middle_half, row.difference + place


def band_points(bands: tuple[BandSpread, ...]) -> tuple[BandPoint, ...]:
    """Third octaves that the song and three tracks at least have; none where fewer than two are left."""
    found = []
    for band in bands:
        song, q25, q75, median = band.level.song, band.level.q25, band.level.q75, band.level.median
        if song is not None and q25 is not None and q75 is not None and median is not None:
            found.append(BandPoint(view.hertz(band.low_hz), song - median, q25 - median, q75 - median))
    return tuple(found) if len(found) > 1 else ()


def level_marks(bands: tuple[BandPoint, ...], least_db: float = 3.0) -> tuple[float, range]:
    """How far a plot of *bands* reaches both ways, in dB, and the whole decibels to mark."""
    reach = max(least_db, *(abs(value) for band in bands for value in (band.song, band.q25, band.q75)))
    step = 1 if reach <= 4 else 3 if reach <= 12 else 10
    most = int(reach // step) * step
    return reach, range(-most, most + 1, step)
