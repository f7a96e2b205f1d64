"""Comparisons with a reference, and references themselves, as data: unrounded.

A comparison obeys reference-comparison.schema.json."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from delivery.model.reference import BandSpread, Beside, Mark, Reference, ReferenceComparison, Spread
from delivery.report.view.reference import CAUTION, remarks
from delivery.report.view.reference_opening import opening


def comparison(found: ReferenceComparison) -> dict[str, Any]:
    """``reference`` is of the song, or of the album as one; ``songs`` has every song by itself."""
    whole = found.album or found.songs[0]
    return {
        "reference": {
            "name": found.reference.name,
            "count": len(found.reference.tracks),
            "tracks": [track.file for track in found.reference.tracks],
            "marks": marks(found.marks),
            "left_out": [*found.left_out, *found.same],
            "older_meters": list(found.older),
            **_beside(whole),
        },
        "songs": [_beside(song) for song in found.songs],
        "problems": list(found.problems),
        "remarks": [*remarks(found), *CAUTION],
    }


def _beside(song: Beside) -> dict[str, Any]:
    return {
        "title": song.title,
        "opening": list(opening(song)),
        "figures": {name: _spread(level) for name, level in song.figures.items()},
        "low_end": _band(song.low_end) if song.low_end else None,
        "third_octaves": [_band(band) for band in song.third_octaves],
        "octaves": [_band(band) for band in song.octaves],
        "playback": [
            {
                "target_lufs": each.target_lufs,
                "gain_db": _spread(each.gain_db),
                "true_peak_dbtp": _spread(each.peak_dbtp),
            }
            for each in song.playback
        ],
        "bar_s": song.bar_s,
        "bpm": song.bpm,
        "places": [
            {
                "kind": place.kind.value,
                "at_s": place.at_s,
                "until_s": place.until_s,
                "low_hz": place.low_hz,
                "high_hz": place.high_hz,
                "own_db": place.own_db,
                "peers_db": place.peers_db,
                "section": place.section,
            }
            for place in song.places
        ],
    }


def _band(band: BandSpread) -> dict[str, Any]:
    return {"low_hz": band.low_hz, "high_hz": band.high_hz, "level_re_loudness_db": _spread(band.level)}


def _spread(level: Spread) -> dict[str, Any]:
    return {
        "song": level.song,
        "median": level.median,
        "q25": level.q25,
        "q75": level.q75,
        "values": list(level.values),
    }


def marks(found: Mapping[str, tuple[Mark, ...]]) -> dict[str, Any]:
    """Of each track that has any."""
    return {file: [{"doubt": mark.doubt.value, "reason": mark.reason} for mark in own] for file, own in found.items()}


def playlist(reference: Reference, found: Mapping[str, tuple[Mark, ...]]) -> dict[str, Any]:
    """A reference with its marks; the figures as they are kept."""
    return {
        "name": reference.name,
        "tracks": [
            {"file": track.file, "audio_hash": track.audio_hash, "figures": dict(track.figures)}
            for track in reference.tracks
        ],
        "marks": marks(found),
    }
