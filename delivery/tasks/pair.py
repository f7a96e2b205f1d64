"""Comparing two sound files: measured, aligned to a fraction of a sample, matched in level, subtracted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from delivery.audio.blocks import sound_facts
from delivery.audio.forward import forward
from delivery.compare.outline import STEP_S as OUTLINE_STEP_S
from delivery.compare.outline import Outline, Outlining, found_sections, section_levels
from delivery.compare.pair import (
    NEEDED,
    OF_SPECTRA,
    Shared,
    gain_over,
    likely_shared,
    polarity_of,
    side_by_side,
    tone,
)
from delivery.compare.residual import ResidualSums
from delivery.compare.tone import aligned_tone
from delivery.dsp.likeness.alignment import Alignment
from delivery.dsp.likeness.shifting import REACH, low_passed, low_passed_along
from delivery.errors import Unusable
from delivery.ledger.cache import MeasurementCache
from delivery.model.pair import Pair, Polarity
from delivery.model.sections import Section, SectionLevels, SectionSource, SectionStart, stated_sections
from delivery.model.source import Source
from delivery.model.version import VersionKind, kind_of
from delivery.pipeline.sound_files import bare_tracks
from delivery.pipeline.sources import Progress, quiet, take_in_figures
from delivery.pipeline.versions import kept_version
from delivery.tasks.aligning import MARGIN_S, SILENT, WINDOW_S, File, alignment, fewer
from delivery.tasks.stated import sections_of, stated_of

Array = NDArray[np.float64]

GAIN_AGREES_DB = 0.05
"""A gain alone is known from the samples far better than from loudness; anything else moves the two apart."""
LENGTHS_AGREE_S = 0.05
"""Files whose lengths differ by more are looked at as a version and its main."""
LEAST_SAME = 0.05
"""Share of the time that must be the same in a file whose name does not call it a version: takes may share samples."""
HALVED_FROM_HZ = 80_000
WHOLE = 5e-3
"""A delay this close to whole frames is one: what else differs moves it by as much, and no low-pass is applied."""


def compare_pair(
    one: Path,
    other: Path,
    cache: MeasurementCache | None = None,
    *,
    spectra: bool = True,
    workers: int = 2,
    progress: Progress = quiet,
) -> Pair:
    """Everything that *other* does differently from *one*.

    Parameters
    ----------
    spectra : measure the spectrum of each file as well, for its tilt and for the tone of what cannot be aligned; this
        takes a sixth of the time

    Raises
    ------
    Unusable : one of them is no sound file, or cannot be read
    """
    alike = sound_facts(one).channels == sound_facts(other).channels
    needed = [name for name in NEEDED if spectra or not alike or name not in OF_SPECTRA]
    first, second = take_in_figures(bare_tracks((one, other)), needed, cache, workers, progress)
    a, b = _file(first), _file(second)
    stated = sections_of(stated_of(one), a.seconds), sections_of(stated_of(other), b.seconds)
    beside = Pair(
        identical=_identical(a, b),
        same_recording=None,
        figures=side_by_side(a.measurement, b.measurement),
    )
    middles, levels = tone(a.measurement, b.measurement)
    beside = replace(beside, tone_hz=middles, tone_db=levels)
    if beside.identical:
        return replace(
            beside,
            same_recording=True,
            offset_s=0.0,
            gain_db=0.0,
            polarity=Polarity.SAME,
            drift_ppm=0.0,
            shared_s=a.seconds,
        )
    shared = likely_shared(a.measurement, b.measurement)
    if shared is None or shared.length_s < 2 * WINDOW_S + 2 * MARGIN_S:
        why = "their loudness over time is different, or they are too short"
        return _as_version(replace(beside, same_recording=False, why=why), first, second, cache)
    found = alignment(a, b, shared)
    if isinstance(found, str):
        refused = replace(beside, same_recording=None if found == SILENT else False, why=found)
        return _as_version(refused, first, second, cache)
    return _as_version(_matched(beside, a, b, shared, found, stated, progress), first, second, cache)


def _identical(a: File, b: File) -> bool:
    """The same samples at one rate. Two files that differ are read up to the first second that does."""
    if (a.rate_hz, a.channels, a.frames) != (b.rate_hz, b.channels, b.frames):
        return False
    second = a.rate_hz
    with forward(a.path, second) as one, forward(b.path, second) as other:
        return all(np.array_equal(one.read(at, second), other.read(at, second)) for at in range(0, a.frames, second))


def _as_version(pair: Pair, one: Source, other: Source, cache: MeasurementCache | None) -> Pair:
    """*pair*, and where a name, the length or unlike waveforms suggest it, the second file as a version."""
    kind = kind_of(other.track.file.stem)
    if not kind and pair.same_recording and abs(_file(one).seconds - _file(other).seconds) < LENGTHS_AGREE_S:
        return pair
    version = kept_version(one, other, cache)
    if not version.pieces or (not kind and not pair.same_recording and version.same_share < LEAST_SAME):
        return pair
    kind = kind or VersionKind.UNNAMED
    if pair.same_recording:
        return replace(pair, version=version, version_kind=kind)
    return replace(
        pair,
        same_recording=True,
        why="",
        offset_s=version.offset_frames / version.rate_hz,
        gain_db=version.gain_db,
        shared_s=sum(piece.frames for piece in version.pieces) / version.rate_hz,
        version=version,
        version_kind=kind,
    )


def _file(source: Source) -> File:
    if source.measurement is None:
        sound_facts(source.track.file)  # raises the precise error where the file cannot be opened
        raise Unusable(source.track.file.name, "sound that breaks off", "a whole sound file", "Export it again.")
    value = source.measurement.value
    return File(source.track.file, value("rate_hz"), value("frames"), value("channels"), source.measurement)


def _matched(
    beside: Pair,
    a: File,
    b: File,
    shared: Shared,
    found: Alignment,
    stated: tuple[Sequence[SectionStart], Sequence[SectionStart]],
    progress: Progress,
) -> Pair:
    """The pair with its delay, gain and residual."""
    found = _on_the_frame(found) if a.rate_hz == b.rate_hz else found
    rate_hz = min(a.rate_hz, b.rate_hz)
    start = max(0, math.ceil(-found.delay_at(0)))
    ends_a, ends_b = a.frames * rate_hz / a.rate_hz, b.frames * rate_hz / b.rate_hz
    stop = int(min(ends_a, (ends_b - found.offset_frames) / (1 + found.drift)))
    frames = stop - start
    both = Shared(start / rate_hz, (start + found.delay_at(start)) / rate_hz, frames / rate_hz)
    gain_db = gain_over(both, a.measurement, b.measurement)
    if gain_db is None:
        gain_db = gain_over(shared, a.measurement, b.measurement) or 0.0
    if abs(gain_db - found.gain_db) < GAIN_AGREES_DB:
        gain_db = found.gain_db
    alike = a.channels == b.channels
    # One channel is subtracted from the mean of the other's, whose loudness is another than the file's.
    sums, outlines = _subtracted(a, b, found, gain_db if alike else found.gain_db, range(start, stop), progress)
    middles_hz, levels_db = aligned_tone(sums, outlines, gain_db) if alike else ((), ())
    if middles_hz:  # not from the windows of each file alone: they lie at other places of the music
        beside = replace(beside, tone_hz=middles_hz, tone_db=levels_db)
    sections = _sections(outlines[0], stated, found, rate_hz, both)
    return replace(
        beside,
        same_recording=True,
        offset_s=found.offset_frames / rate_hz,
        gain_db=gain_db,
        polarity=polarity_of(found.channel_signs),
        drift_ppm=1e6 * found.drift,
        shared_s=both.length_s,
        residual=sums.residual(),
        sections=_measured(sections, outlines, a, b, both),
        section_source=SectionSource.STATED if any(stated) else SectionSource.FOUND,
    )


def _sections(
    outline: Outline,
    stated: tuple[Sequence[SectionStart], Sequence[SectionStart]],
    found: Alignment,
    rate_hz: int,
    both: Shared,
) -> tuple[Section, ...]:
    """Sections within the shared part, in times that begin with it: stated for either file, else found in the first."""
    own, theirs = stated
    starts = [(start.name, start.from_s) for start in own] or [
        (start.name, (start.from_s * rate_hz - found.offset_frames) / (1 + found.drift) / rate_hz) for start in theirs
    ]
    if not starts:
        return found_sections(outline.rows)
    shifted_starts = [SectionStart(name, max(at_s - both.one_s, 0.0)) for name, at_s in starts]
    whole = stated_sections(shifted_starts, both.length_s)
    return tuple(section for section in whole if section.end_s - section.start_s >= OUTLINE_STEP_S)


def _measured(
    sections: tuple[Section, ...], outlines: tuple[Outline, Outline], a: File, b: File, both: Shared
) -> tuple[tuple[Section, SectionLevels, SectionLevels], ...]:
    """What each section measures in both files, in times of the first."""
    ones = section_levels(outlines[0], a.measurement, sections, both.one_s)
    others = section_levels(outlines[1], b.measurement, sections, both.other_s, outlines[0])
    return tuple(
        (Section(section.name, section.start_s + both.one_s, section.end_s + both.one_s), one, other)
        for section, one, other in zip(sections, ones, others, strict=True)
    )


def _on_the_frame(found: Alignment) -> Alignment:
    """A delay that is whole frames but for rounding is whole frames: then samples are compared as they are."""
    whole = round(found.offset_frames)
    near = not found.drift and abs(found.offset_frames - whole) < WHOLE
    return replace(found, offset_frames=float(whole)) if near else found


def _subtracted(
    a: File, b: File, found: Alignment, gain_db: float, shared: range, progress: Progress
) -> tuple[ResidualSums, tuple[Outline, Outline]]:
    """The first file less the second, second by second at one level, and the outlines of both.

    A delay of whole frames at one rate leaves the samples as they are; else both pass one low-pass, at high rates with
    every second frame left out.
    """
    rate_hz, channels = min(a.rate_hz, b.rate_hz), min(a.channels, b.channels)
    between = a.rate_hz != b.rate_hz or found.delay_at(0) % 1 > 0 or found.drift != 0
    every = 2 if between and rate_hz >= HALVED_FROM_HZ else 1
    sums = ResidualSums(rate_hz // every)
    outlines = Outlining(rate_hz, channels), Outlining(rate_hz, channels)
    gains = np.where(np.array(found.channel_signs) < 0, -1, 1) * 10 ** (-gain_db / 20)
    pieces = range(shared.start, shared.stop, rate_hz)
    reach = REACH if between else 0
    with forward(a.path, rate_hz) as one, forward(b.path, rate_hz) as other:
        for done, start in enumerate(pieces):
            progress("subtracting", done, len(pieces))
            frames = min(rate_hz, shared.stop - start)
            mine = fewer(one.read(start - reach, frames + 2 * reach), channels)
            first = math.floor(start + found.delay_at(start)) - reach
            last = math.ceil(start + frames + found.delay_at(start + frames)) + reach
            theirs = fewer(other.read(first, last - first), channels)
            for outline, sound in zip(outlines, (mine, theirs), strict=True):
                outline.take(sound[reach : reach + frames])
            if between:
                kept = frames // every * every
                theirs = _along(theirs, start + found.delay_at(start) - first, kept, every, found.drift)
                mine = low_passed(mine, reach, kept, every)
            sums.take(mine, theirs, gains)
    progress("subtracting", len(pieces), len(pieces))
    return sums, (outlines[0].result(), outlines[1].result())


def _along(sound: Array, start: float, frames: int, every: int, drift: float) -> Array:
    """*frames* of the second file at the clock of the first, from the place *start* on."""
    if drift:
        return low_passed_along(sound, start, frames, every, drift)
    return low_passed(sound, start, frames, every)
