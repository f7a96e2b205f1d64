"""Comparing two sound files: measured, aligned to a fraction of a sample, matched in level, subtracted."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from delivery.audio.blocks import sound_facts
from delivery.audio.forward import Forward, forward
from delivery.compare.outline import Outline, found_sections, section_levels
from delivery.compare.pair import (
    Shared,
    gain_over,
    likely_shared,
    polarity_of,
    side_by_side,
    tone,
)
from delivery.compare.residual import ResidualSums
from delivery.dsp.likeness.alignment import Alignment, Lag, aligned, fitted_gain_db, lag_of
from delivery.dsp.likeness.same_recording import STEP_S
from delivery.dsp.likeness.shifting import REACH, shifted
from delivery.errors import Unusable
from delivery.ledger.cache import MeasurementCache
from delivery.model.figure import Measurement
from delivery.model.pair import Pair, Polarity, Section, SectionLevels
from delivery.model.part import Source
from delivery.pipeline.sound_files import bare_tracks
from delivery.pipeline.sources import Progress, quiet, take_in

Array = NDArray[np.float64]

WINDOWS = 24
WINDOW_S = 0.75
MARGIN_S = 0.3
"""How far the loudness over time may be wrong about the offset."""
STEADY_FRAMES = 0.01
"""A clock difference may move the delay so far within one piece."""
GAIN_AGREES_DB = 0.05
"""A gain alone is known from the samples far better than from loudness; anything else moves the two apart."""
WHOLE = 1e-3
"""A delay this close to whole frames is one."""
SILENT = "too silent to be compared"
UNLIKE = "their waveforms do not agree: another take, another mix or another song"


@dataclass(frozen=True, slots=True)
class _File:
    path: Path
    rate_hz: int
    frames: int
    channels: int
    measurement: Measurement


def compare_pair(
    one: Path, other: Path, cache: MeasurementCache | None = None, *, workers: int = 2, progress: Progress = quiet
) -> Pair:
    """Everything that *other* does differently from *one*.

    Raises
    ------
    Unusable : one of them is no sound file, or cannot be read
    """
    first, second = take_in(bare_tracks((one, other)), cache, workers, progress)
    a, b = _file(first), _file(second)
    beside = Pair(
        identical=first.audio_hash == second.audio_hash and a.rate_hz == b.rate_hz,
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
            shared_s=a.frames / a.rate_hz,
        )
    shared = likely_shared(a.measurement, b.measurement)
    if shared is None or shared.length_s < 2 * WINDOW_S + 2 * MARGIN_S:
        return replace(beside, same_recording=False, why="their loudness over time is different, or they are too short")
    found = _alignment(a, b, shared)
    if isinstance(found, str):
        return replace(beside, same_recording=None if found == SILENT else False, why=found)
    return _matched(beside, a, b, shared, found, progress)


def _file(source: Source) -> _File:
    if source.measurement is None:
        sound_facts(source.track.file)  # raises the precise error where the file cannot be opened
        raise Unusable(source.track.file.name, "sound that breaks off", "a whole sound file", "Export it again.")
    value = source.measurement.value
    return _File(source.track.file, value("rate_hz"), value("frames"), value("channels"), source.measurement)


def _alignment(a: _File, b: _File, shared: Shared) -> Alignment | str:
    """The line through the delays, in frames of the common rate; a sentence where there is none."""
    rate_hz, channels = min(a.rate_hz, b.rate_hz), min(a.channels, b.channels)
    frames, margin = round(WINDOW_S * rate_hz), round(MARGIN_S * rate_hz)
    offset = round((shared.other_s - shared.one_s) * rate_hz)
    starts = [round(at_s * rate_hz) for at_s in _places(a.measurement, shared)]
    lags: list[Lag | None] = []
    windows: list[tuple[int, Array, Array]] = []
    with forward(a.path, rate_hz) as one, forward(b.path, rate_hz) as other:
        for start in starts:
            mine = _channels(one.read(start, frames), channels)
            theirs = _channels(other.read(start + offset - margin, frames + 2 * margin), channels)
            lag = lag_of(mine, theirs, margin)
            windows.append((start, mine, theirs))
            lags.append(replace(lag, delay_frames=lag.delay_frames + offset) if lag else None)
    if not any(lags):
        return SILENT
    found = aligned([start + frames / 2 for start in starts], lags)
    if found is None:
        return UNLIKE
    fitted = [
        (mine, shifted(theirs, start + found.delay_at(start + frames / 2) - (start + offset - margin), frames))
        for start, mine, theirs in windows
    ]
    return replace(found, gain_db=fitted_gain_db(fitted))


def _channels(sound: Array, channels: int) -> Array:
    """As many channels as both files have; a mono file is compared with the mean of the other's channels."""
    return sound.mean(axis=1, keepdims=True) if channels == 1 else sound[:, :channels]


def _places(measurement: Measurement, shared: Shared) -> list[float]:
    """Where windows begin in the first file: the loudest place of each of so many equal pieces of the shared part."""
    powers = np.array(measurement.value("gating_powers"))
    first_s, last_s = shared.one_s + MARGIN_S, shared.one_s + shared.length_s - WINDOW_S - MARGIN_S
    count = max(2, min(WINDOWS, int((last_s - first_s) / WINDOW_S)))
    edges_s = np.linspace(first_s, max(last_s, first_s + 0.2), count + 1)
    found = []
    for start_s, end_s in pairwise(edges_s.tolist()):
        steps = powers[round(start_s / STEP_S) : max(round(end_s / STEP_S), round(start_s / STEP_S) + 1)]
        found.append(start_s + (int(np.argmax(steps)) * STEP_S if len(steps) else 0.0))
    return found


def _matched(beside: Pair, a: _File, b: _File, shared: Shared, found: Alignment, progress: Progress) -> Pair:
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
    sums, outlines = _subtracted(a, b, found, gain_db, range(start, stop), progress)
    return replace(
        beside,
        same_recording=True,
        offset_s=found.offset_frames / rate_hz,
        gain_db=gain_db,
        polarity=polarity_of(found.channel_signs),
        drift_ppm=1e6 * found.drift,
        shared_s=both.length_s,
        residual=sums.residual(),
        sections=_sections(outlines, a, b, both),
    )


def _sections(
    outlines: tuple[Outline, Outline], a: _File, b: _File, both: Shared
) -> tuple[tuple[Section, SectionLevels, SectionLevels], ...]:
    """Sections of the shared part, found in the first file, and what they measure in both."""
    rows = [outline.rows for outline in outlines]
    powers = [file.measurement.value("gating_powers") for file in (a, b)]
    return tuple(
        (
            Section(section.name, section.start_s + both.one_s, section.end_s + both.one_s),
            section_levels(rows[0], powers[0], section, both.one_s),
            section_levels(rows[1], powers[1], section, both.other_s),
        )
        for section in found_sections(rows[0])
    )


def _on_the_frame(found: Alignment) -> Alignment:
    """A delay that is whole frames but for rounding is whole frames: then samples are compared as they are."""
    whole = round(found.offset_frames)
    near = not found.drift and abs(found.offset_frames - whole) < WHOLE
    return replace(found, offset_frames=float(whole)) if near else found


def _subtracted(
    a: _File, b: _File, found: Alignment, gain_db: float, shared: range, progress: Progress
) -> tuple[ResidualSums, tuple[Outline, Outline]]:
    """The first file less the second, second by second at one level, and the outlines of both."""
    rate_hz, channels = min(a.rate_hz, b.rate_hz), min(a.channels, b.channels)
    between = a.rate_hz != b.rate_hz or found.delay_at(0) % 1 > 0 or found.drift != 0
    sums, outlines = ResidualSums(rate_hz, interpolated=between), (Outline(rate_hz), Outline(rate_hz))
    signs = np.array(found.channel_signs) * 10 ** (-gain_db / 20)
    pieces = range(shared.start, shared.stop, rate_hz)
    with forward(a.path, rate_hz) as one, forward(b.path, rate_hz) as other:
        for done, start in enumerate(pieces):
            progress("subtracting", done, len(pieces))
            frames = min(rate_hz, shared.stop - start)
            mine = _channels(one.read(start, frames), channels)
            theirs = _delayed(other, start, frames, found, channels)
            sums.take(mine, mine - signs * theirs)
            for outline, sound in zip(outlines, (mine, theirs), strict=True):
                outline.take(sound)
    progress("subtracting", len(pieces), len(pieces))
    return sums, outlines


def _delayed(other: Forward, start: int, frames: int, found: Alignment, channels: int) -> Array:
    """The second file's frames that belong to *frames* of the first from *start* on."""
    first = math.floor(start + found.delay_at(start)) - REACH
    last = math.ceil(start + frames + found.delay_at(start + frames)) + REACH
    sound = _channels(other.read(first, last - first), channels)
    step = frames if not found.drift else max(64, int(STEADY_FRAMES / abs(found.drift)))
    pieces = [
        shifted(sound, at + found.delay_at(at + step / 2) - first, min(step, start + frames - at))
        for at in range(start, start + frames, step)
    ]
    return np.concatenate(pieces)
