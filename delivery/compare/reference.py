"""A song beside a playlist of peers: kept figures, marks on doubtful tracks, medians and quartiles. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from delivery.model.figure import Measurement
from delivery.model.reference import (
    BandHabit,
    BandSpread,
    Beside,
    Doubt,
    Mark,
    Playback,
    Reference,
    ReferenceTrack,
    Spread,
)

PLAIN = (
    "duration_s", "rate_hz", "bits", "coding", "channels",
    "integrated_lufs", "short_term_max_lufs", "loudness_range_lu", "true_peak_dbtp", "plr_db", "psr_min_db",
    "psr_low_db", "correlation", "spectral_tilt_db", "third_octave_hz", "third_octave_re_loudness_db",
    "clip_run_count", "identical_channels", "nearly_mono", "lossy_coder",
)  # fmt: skip
"""Figures kept as the meters give them; the last five and ``bits`` are what the marks follow from."""
SIDE_MID = "side_mid_db"
COMPARED = (
    "integrated_lufs", "short_term_max_lufs", "loudness_range_lu", "true_peak_dbtp", "plr_db", "psr_low_db",
    "psr_min_db", SIDE_MID, "correlation", "spectral_tilt_db",
)  # fmt: skip
TARGETS_LUFS = (-14.0, -16.0, -18.0, -23.0)
FEWEST_FOR_QUARTILES = 3
LOW_END_HZ = (80.0, 160.0)
"""Middles of the lowest and the highest third octave of what the headline calls the low end."""
DEEPEST_SHARE = 1e-12

ALIKE_LU = 0.3
"""Tracks within so little of each other look as if brought to one loudness. Common practice, no source."""
SHORT_SHARE, SHORT_S = 0.5, 60.0
"""Less than half the median length of at least three tracks, or under a minute. Common practice, no source."""


def track_of(file: str, measurement: Measurement, meters: str, habits: tuple[BandHabit, ...] = ()) -> ReferenceTrack:
    """The figures of one file that a reference keeps."""
    kept = {name: _plain(measurement.value(name)) for name in PLAIN}
    kept[SIDE_MID] = side_mid_db(measurement.value("mono_loss_db"))
    return ReferenceTrack(file, measurement.value("audio_hash") or "", meters, kept, habits)


def _plain(value: Any) -> Any:
    return tuple(value) if isinstance(value, Sequence) and not isinstance(value, str) else value


def side_mid_db(mono_loss_db: float | None) -> float | None:
    """Power of left less right over that of left plus right, over the whole file, within 120 dB.

    The mono sum keeps the share k = M / (M + S) of the power, so S / M = (1 - k) / k.
    """
    if mono_loss_db is None:
        return None
    kept = min(max(10 ** (-mono_loss_db / 10), DEEPEST_SHARE), 1 - DEEPEST_SHARE)
    return 10 * math.log10((1 - kept) / kept)


def marks_of(tracks: Sequence[ReferenceTrack]) -> dict[str, tuple[Mark, ...]]:
    """Doubts about each track, by file; tracks without any are left out.

    They follow from the kept figures and from the other tracks, so they change as tracks come and go.
    """
    normalised = _normalised(tracks)
    lengths = [track.figures["duration_s"] or 0.0 for track in tracks]
    usual_s = float(np.median(lengths)) if len(lengths) >= FEWEST_FOR_QUARTILES else 0.0
    found = {track.file: (*_own(track, usual_s), *normalised.get(track.file, ())) for track in tracks}
    return {file: marks for file, marks in found.items() if marks}


def _own(track: ReferenceTrack, usual_s: float) -> Iterable[Mark]:
    figures = track.figures
    if figures["bits"] is None:
        yield Mark(Doubt.LOSSY, f"{figures['coding']} is a lossy coding")
    elif figures["lossy_coder"] not in (None, "none"):
        yield Mark(Doubt.LOSSY, f"shows the frames of a lossy coder ({figures['lossy_coder']}); a sign, no proof")
    if figures["clip_run_count"]:
        runs = figures["clip_run_count"]
        yield Mark(Doubt.CLIPPED, f"{runs} run{'' if runs == 1 else 's'} of equal samples at its highest level")
    if figures["channels"] == 1 or figures["identical_channels"]:
        yield Mark(Doubt.MONO, "one channel" if figures["channels"] == 1 else "left and right are the same")
    elif figures["nearly_mono"]:
        yield Mark(Doubt.MONO, "left and right are nearly the same")
    length_s = figures["duration_s"] or 0.0
    if length_s < SHORT_S:
        yield Mark(Doubt.EDITED_DOWN, f"{length_s:.0f} s long, under a minute")
    elif length_s < SHORT_SHARE * usual_s:
        yield Mark(Doubt.EDITED_DOWN, f"{length_s:.0f} s long, less than half the median length of {usual_s:.0f} s")


def _normalised(tracks: Sequence[ReferenceTrack]) -> dict[str, tuple[Mark, ...]]:
    """The largest group within ALIKE_LU, when it holds at least three tracks and more than half of all."""
    known = sorted(
        (track.figures["integrated_lufs"], track.file)
        for track in tracks
        if track.figures["integrated_lufs"] is not None
    )
    groups = [[one for one in known if low <= one[0] <= low + ALIKE_LU] for low, _ in known]
    group = max(groups, key=len, default=[])
    if len(group) < 3 or 2 * len(group) <= len(known):
        return {}
    middle = float(np.median([lufs for lufs, _ in group]))
    reason = f"{len(group)} of {len(known)} tracks lie within {ALIKE_LU:g} LU of each other, about {middle:.1f} LUFS"
    return {file: (Mark(Doubt.NORMALISED, reason),) for _, file in group}


def spread(song: float | None, values: Iterable[float | None]) -> Spread:
    """Median and quartiles (linear interpolation between ranks) of the values that exist."""
    known = tuple(value for value in values if value is not None)
    if not known:
        return Spread(song, (), None, None, None)
    q25, median, q75 = (float(value) for value in np.percentile(known, (25, 50, 75)))
    several = len(known) >= FEWEST_FOR_QUARTILES
    return Spread(song, known, median, q25 if several else None, q75 if several else None)


def beside(title: str, song: Mapping[str, Any], reference: Reference) -> Beside:
    """A song, by the same figures as the tracks have, beside them.

    Parameters
    ----------
    song : figures as in ``ReferenceTrack.figures``
    """
    all_figures = [track.figures for track in reference.tracks]
    figures = {name: spread(song[name], (one[name] for one in all_figures)) for name in COMPARED}
    own, others = thirds(song), [thirds(one) for one in all_figures]
    middles = sorted(own)
    octaves = [middles[at - 1 : at + 2] for at in range(1, len(middles) - 1)]
    low_end = [hz for hz in middles if LOW_END_HZ[0] * 0.95 < hz < LOW_END_HZ[1] * 1.05]
    return Beside(
        title,
        figures,
        tuple(_band([hz], own, others) for hz in middles),
        tuple(_band(band, own, others) for band in octaves),
        _band(low_end, own, others) if low_end else None,
        tuple(_playback(target, song, all_figures) for target in TARGETS_LUFS),
    )


def thirds(figures: Mapping[str, Any]) -> dict[float, float]:
    """Level of each third octave less the own integrated loudness, in dB, by its middle in Hz."""
    levels = figures["third_octave_re_loudness_db"]
    return dict(zip(figures["third_octave_hz"], levels, strict=True)) if levels else {}


def _band(middles: Sequence[float], own: Mapping[float, float], others: Sequence[Mapping[float, float]]) -> BandSpread:
    level = spread(_sum_db(middles, own), (_sum_db(middles, one) for one in others))
    return BandSpread(middles[0], middles[-1], level)


def _sum_db(middles: Sequence[float], levels: Mapping[float, float]) -> float | None:
    """Powers added up; None where a band is missing, as above the band of a low sample rate."""
    if any(hz not in levels for hz in middles):
        return None
    return 10 * math.log10(sum(10 ** (levels[hz] / 10) for hz in middles))


def _playback(target_lufs: float, song: Mapping[str, Any], others: Sequence[Mapping[str, Any]]) -> Playback:
    gains = [_gain(target_lufs, one) for one in (song, *others)]
    peaks = [_peak(target_lufs, one) for one in (song, *others)]
    return Playback(target_lufs, spread(gains[0], gains[1:]), spread(peaks[0], peaks[1:]))


def _gain(target_lufs: float, figures: Mapping[str, Any]) -> float | None:
    loudness = figures["integrated_lufs"]
    return None if loudness is None else target_lufs - loudness


def _peak(target_lufs: float, figures: Mapping[str, Any]) -> float | None:
    gain_db, peak = _gain(target_lufs, figures), figures["true_peak_dbtp"]
    return None if gain_db is None or peak is None else peak + gain_db


def together(songs: Sequence[Mapping[str, Any]], integrated_lufs: float | None) -> dict[str, Any]:
    """An album's figures: loudness gated over all of it, the highest peak, of everything else the median of its songs.

    Parameters
    ----------
    integrated_lufs : of all songs as one programme
    """
    numbers = {name: _median(one[name] for one in songs) for name in COMPARED}
    peaks = [one["true_peak_dbtp"] for one in songs if one["true_peak_dbtp"] is not None]
    levels = [thirds(one) for one in songs]
    middles = sorted({hz for one in levels for hz in one})
    tone = [_median(one.get(hz) for one in levels) for hz in middles]
    return {
        **numbers,
        "integrated_lufs": integrated_lufs,
        "true_peak_dbtp": max(peaks, default=None),
        "third_octave_hz": tuple(middles),
        "third_octave_re_loudness_db": tuple(tone),
    }


def _median(values: Iterable[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return float(np.median(known)) if known else None
