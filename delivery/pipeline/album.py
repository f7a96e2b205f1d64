"""Checks across the album: its loudness, joins between neighbours, files that belong to no track."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.events.continuity import Evidence, evidence, is_quiet
from delivery.dsp.loudness.gating import gated_loudness_lufs
from delivery.intake.begin.file_names import natural
from delivery.intake.begin.masters import LOSSLESS, LOSSY
from delivery.meters.meter import NO_SOUND, SILENT, TOO_SHORT
from delivery.model.album import Cut, Join, Likeness
from delivery.model.dual_mono import extra_lu
from delivery.model.figure import Measurement, Reading
from delivery.model.part import Selection, Source, sources_for
from delivery.model.programme_totals import ProgrammeTotals
from delivery.model.release import Release, Track
from delivery.model.release_for import release_for
from delivery.model.spec import Spec

TOTALS_NEED = ("duration_s", "gating_powers", "true_peak_dbtp")
"""Figures of each file that ``programme_totals`` reads."""


def programme_totals(sources: tuple[Source, ...]) -> ProgrammeTotals:
    """Treat all files that could be measured as one programme, gated as a whole."""
    measured = [(source.track.file.name, source.measurement) for source in sources if source.measurement]
    duration_s = float(sum(each.value("duration_s") for _, each in measured))
    why = next((f"{name}: {why}" for name, each in measured if (why := _why_unknown(each["gating_powers"]))), "")
    loudness = (
        None
        if why
        else gated_loudness_lufs(
            np.concatenate([[], *(np.asarray(each.value("gating_powers") or (), np.float64) for _, each in measured)])
        )
    )
    if loudness is None and not why:
        why = "silent or too short: no block of 0.4 s louder than -70 LUFS"
    peaks = [(each.value("true_peak_dbtp"), name) for name, each in measured if not _is_silent(each["true_peak_dbtp"])]
    known = bool(peaks) and all(peak is not None for peak, _ in peaks)
    highest, where = max(peaks, key=lambda peak: peak[0]) if known else (None, "")
    return ProgrammeTotals(len(sources), len(measured), duration_s, loudness, why, highest, where)


def selections(
    release: Release, specs: Sequence[Spec], sources: tuple[Source, ...], likenesses: tuple[Likeness, ...]
) -> tuple[Selection, ...]:
    """*release* as the specs receive it, one selection for all specs with the same tracks.

    Parameters
    ----------
    sources : the masters of every track that any of *specs* receives
    likenesses : among all of them
    """
    alike: dict[tuple[tuple[Track, ...], bool], list[str]] = {}
    releases: dict[tuple[tuple[Track, ...], bool], Release] = {}
    for spec in specs:
        own = release_for(release, spec.id)
        key = own.tracks, _needs_two(spec) and any(source.doubled for source in sources_for(own, sources))
        alike.setdefault(key, []).append(spec.id)
        releases.setdefault(key, own)
    return tuple(
        _selection(tuple(alike[key]), own, sources, likenesses, doubled=key[1]) for key, own in releases.items()
    )


def _needs_two(spec: Spec) -> bool:
    """True if the file must have two channels and may not be mono."""
    channels = spec.limit("channels") or ()
    return 2 in channels and 1 not in channels


def _selection(
    specs: tuple[str, ...],
    release: Release,
    sources: tuple[Source, ...],
    likenesses: tuple[Likeness, ...],
    *,
    doubled: bool,
) -> Selection:
    own = sources_for(release, sources, doubled=doubled)
    positions = {track.position for track in release.tracks}
    among = tuple(pair for pair in likenesses if {pair.one, pair.other} <= positions)
    return Selection(specs, release, together(own), joins(own), among, doubled)


def together(sources: tuple[Source, ...]) -> dict[str, float]:
    """The album as one programme; empty unless every track could be measured."""
    one = programme_totals(sources)
    known = {
        "duration_s": one.duration_s,
        "integrated_lufs": one.integrated_lufs,
        "true_peak_dbtp": one.true_peak_dbtp,
    }
    return {name: value for name, value in known.items() if value is not None} if one.measured == one.files else {}


def loudness_together(sources: tuple[Source, ...], *, dual_mono: bool) -> Reading:
    """Loudness of all masters, unprocessed, as one programme."""
    return loudness_of([(s.track.position, s.measurement, 0.0) for s in sources], dual_mono=dual_mono)


def loudness_of(songs: Sequence[tuple[int, Measurement | None, float]], *, dual_mono: bool) -> Reading:
    """Loudness of songs as one programme, gated as a whole; missing if any song's loudness is.

    Parameters
    ----------
    songs : position, measurement and the gain in dB still to be applied
    dual_mono : mono is counted as if played from both loudspeakers
    """
    powers: list[NDArray[np.float64]] = []
    for position, measured, gain_db in songs:
        known = measured["gating_powers"] if measured else Reading.missing("it could not be measured")
        if known.value is None and not known.why_missing.startswith(TOO_SHORT):
            return Reading.missing(f"track {position}: {known.why_missing}")
        more_db = gain_db + (extra_lu(measured, dual_mono=dual_mono) if measured else 0.0)
        powers.append(np.array(known.value or (), np.float64) * 10 ** (more_db / 10))
    loudness = gated_loudness_lufs(np.concatenate(powers)) if powers else None
    return Reading(loudness) if loudness is not None else Reading.missing("no block of 0.4 s louder than -70 LUFS")


def _why_unknown(gating_powers: Reading) -> str:
    """Why a file's loudness is unknown. A file too short for one block contributes nothing."""
    return "" if gating_powers.why_missing.startswith(TOO_SHORT) else gating_powers.why_missing


def _is_silent(true_peak: Reading) -> bool:
    return true_peak.why_missing in (SILENT, NO_SOUND)


def joins(sources: tuple[Source, ...]) -> tuple[Join, ...]:
    """Continuity of the samples at each cut between neighbours on one disc, side breaks included."""
    return tuple(_join(before, after) for before, after in pairwise(sources) if before.track.disc == after.track.disc)


def unnamed(release: Release) -> tuple[str, ...]:
    """Names of sound files beside the masters that belong to no track."""
    named = {track.file for track in release.tracks}
    by_folder: dict[Path, set[str]] = defaultdict(set)
    for file in named:
        by_folder[file.parent].add(file.name.casefold())
    extra = [
        file.name
        for folder, names in by_folder.items()
        if folder.is_dir()
        for file in folder.iterdir()
        if file.suffix.lower() in LOSSLESS | LOSSY
        and not file.name.startswith(".")
        and file.name.casefold() not in names
    ]
    return tuple(sorted(extra, key=natural))


def _join(before: Source, after: Source) -> Join:
    one, other = before.track.position, after.track.position
    last, first = _edge(before, "last_samples"), _edge(after, "first_samples")
    gap_s = after.track.gap_before_s
    if last is None or first is None:
        return Join(one, other, Cut.UNKNOWN, gap_s)
    if is_quiet(last, first):
        return Join(one, other, Cut.QUIET, gap_s)
    if _form(before) != _form(after):
        return Join(one, other, Cut.UNKNOWN, gap_s)
    found = _evidence(last.tobytes(), first.tobytes(), last.shape[1])
    cut = Cut.CONTINUOUS if found.proven else Cut.STEP if found.steps else Cut.UNPROVEN
    return Join(one, other, cut, gap_s, round(found.step_db, 1))


@lru_cache(maxsize=256)
def _evidence(last: bytes, first: bytes, channels: int) -> Evidence:
    """`evidence` of samples as 64-bit floats: the release and each selection of it examine the same cuts."""
    before, after = (np.frombuffer(samples).reshape(-1, channels) for samples in (last, first))
    return evidence(before, after)


def _edge(source: Source, figure: str) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]] | None:
    samples = source.measurement.value(figure) if source.measurement else None
    if samples is None or source.measurement is None:
        return None
    return np.array(samples, dtype=np.float64).reshape(-1, source.measurement.value("channels"))


def _form(source: Source) -> tuple[int, int]:
    known = source.measurement or Measurement({})
    return known.value("rate_hz"), known.value("channels")
