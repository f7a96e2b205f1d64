"""Pairs of songs that are one recording. What was found for the same songs is kept with their measurements."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from itertools import combinations
from typing import TYPE_CHECKING, Any

import numpy as np

from delivery.dsp.likeness.excerpts import excerpt
from delivery.dsp.likeness.same_recording import LevelCurve, alike, tones_apart_db
from delivery.meters import meters_version
from delivery.model.album import Likeness, Stretch
from delivery.model.figure import Measurement, Reading

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from delivery.ledger.cache import MeasurementCache
    from delivery.model.source import Source

NEARLY = 0.95
"""Correlation of loudness over time; tests/dsp/test_likeness.py has the values for the same and for different
recordings."""
TONE_APART_DB = 4.0
"""A filter or a coder changes the spectrum by less; two arrangements of a song, recorded to the same click, by more."""
FIGURE, VERSION = "likenesses", 1
"""Name in the cache; the version of the comparison here, which the version of the meters does not cover."""


def likenesses(sources: Sequence[Source], cache: MeasurementCache | None = None) -> tuple[Likeness, ...]:
    """Pairs of one recording: sample for sample, or but for level, offset or coding.

    Parameters
    ----------
    cache : holds what was found for the same audio in the same order; comparing takes time by the square of the songs
    """
    songs = [(source.track.position, source.measurement) for source in sources if source.measurement]
    if len(songs) < 2:
        return ()
    content = "\n".join(str(measurement.value("audio_hash")) for _, measurement in songs)
    key, version = hashlib.sha256(content.encode()).hexdigest(), f"{meters_version()}, {FIGURE} {VERSION}"
    kept = cache.get(key, version) if cache else None
    rows = kept.value(FIGURE) if kept else None
    if rows is None:
        rows = tuple(_rows([measurement for _, measurement in songs]))
        if cache:
            cache.put(key, version, Measurement({FIGURE: Reading(rows)}))
    return tuple(_likeness([position for position, _ in songs], row) for row in rows)


def likeness_of(one: Source, other: Source) -> Likeness | None:
    """Likeness of two masters, if they are of one recording; None also where one could not be measured."""
    return next(iter(likenesses((one, other))), None)


def _rows(songs: Sequence[Measurement]) -> list[tuple[Any, ...]]:
    """For each pair of one recording the places of both in *songs*, then the fields of `Likeness`."""
    hashes = [song.value("audio_hash") for song in songs]
    curves: dict[int, LevelCurve] = {}

    def curve(at: int) -> LevelCurve:
        if at not in curves:
            curves[at] = LevelCurve(songs[at].value("gating_powers"))
        return curves[at]

    found = []
    near = _near_in_tone(songs)
    for one, other in combinations(range(len(songs)), 2):
        if hashes[one] is not None and hashes[one] == hashes[other]:
            found.append((one, other, True, 1.0, 0.0, 0.0, 1.0, ()))
        elif near[one, other] and (row := _compared(curve(one), curve(other))):
            found.append((one, other, False, *row))
    return found


def _near_in_tone(songs: Sequence[Measurement]) -> NDArray[np.bool_]:
    """(songs, songs): true above the diagonal where tone and level are known and one recording is possible."""
    known = np.array([None not in (song.value("third_octave_db"), song.value("gating_powers")) for song in songs])
    spectra = [np.array(song.value("third_octave_db") or (), np.float64) for song in songs]
    tones = np.full((len(songs), max([1, *map(len, spectra)])), np.nan)
    for tone, spectrum in zip(tones, spectra, strict=True):
        tone[: len(spectrum)] = spectrum
    near = np.zeros((len(songs), len(songs)), np.bool_)
    for one in range(len(songs) - 1):
        near[one, one + 1 :] = tones_apart_db(tones[one], tones[one + 1 :]) <= TONE_APART_DB
    return np.asarray(near & known & known[:, None])


def _compared(one: LevelCurve, other: LevelCurve) -> tuple[Any, ...] | None:
    """Correlation, offset, gain, share, stretches; None for two recordings."""
    found = alike(one.powers, other.powers) if one.may_be(other) else None
    if found and found.correlation >= NEARLY:
        return round(found.correlation, 4), found.offset_s, round(found.gain_db, 2), 1.0, ()
    part = excerpt(one.powers, other.powers)
    if part is None:
        return None
    stretches = tuple((each.one_s, each.other_s, each.length_s) for each in part.stretches)
    offset_s = round(stretches[0][1] - stretches[0][0], 1)
    return round(part.correlation, 4), offset_s, round(part.gain_db, 2), round(part.share, 3), stretches


def _likeness(positions: Sequence[int], row: Sequence[Any]) -> Likeness:
    one, other, exact, correlation, offset_s, gain_db, share, stretches = row
    parts = tuple(Stretch(*stretch) for stretch in stretches)
    return Likeness(positions[one], positions[other], exact, correlation, offset_s, gain_db, share, parts)
