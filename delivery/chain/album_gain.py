"""One gain for all songs of an album, which keeps the balance between them, and the reason for it. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from delivery.chain.gain import GAIN_SLACK_DB, gain_wanted_db, headroom_db, to_target_db
from delivery.model.figure import Measurement
from delivery.model.spec import Spec

SAME = "the same on every track, so the balance between songs is kept"
Songs = Sequence[tuple[str, Measurement]]
"""Number as reports print it, '3' or '2.3', and the master's measurement."""


@dataclass(frozen=True, slots=True)
class AlbumGain:
    """One gain for all songs of an album, and its reason."""

    gain_db: float
    because: str


def album_gain(spec: Spec, songs: Songs, album_lufs: float | None) -> AlbumGain | None:
    """The gain every song gets under *spec*; None if it requires no album gain.

    Parameters
    ----------
    album_lufs : loudness of the whole album, gated as one programme; None if a song could not be measured: then no gain
    is applied, and a rule reports it
    """
    if spec.conversions.gain_scope != "album" or spec.conversions.gain == "never":
        return None
    if spec.conversions.gain == "to_target":
        return _to_target(spec, songs, album_lufs)
    return _down_to_ceiling(spec, songs)


def _down_to_ceiling(spec: Spec, songs: Songs) -> AlbumGain:
    """The song that needs the largest reduction sets the gain."""
    needs = [(gain_wanted_db(spec, measured), number) for number, measured in songs]
    gain_db, number = min(needs, key=lambda need: need[0], default=(0.0, ""))
    return AlbumGain(gain_db, f"true_peak_max_dbtp: down to the ceiling, as required by track {number}; {SAME}")


def _to_target(spec: Spec, songs: Songs, album_lufs: float | None) -> AlbumGain:
    """Gain to the target, or as far towards it as every song's ceiling permits, if that is still within the window."""
    key = "album_integrated_lufs" if spec.limit("album_integrated_lufs") else "integrated_lufs"
    window = spec.limit(key)
    if not window or album_lufs is None or not songs:
        return AlbumGain(0.0, "")
    wanted_db = to_target_db(window, album_lufs)
    headrooms = [(_usable_headroom_db(spec, measured), number) for number, measured in songs]
    usable_db, tightest = min(headrooms, key=lambda headroom: headroom[0])
    held = usable_db < wanted_db and album_lufs + usable_db >= window.get("at_least", window.get("target", album_lufs))
    gain_db = usable_db if held and wanted_db > 0 else wanted_db
    sentences = [
        f"{key}: the album as one programme measures {album_lufs:.2f} LUFS, the spec aims at {window['target']:.2f}",
        _peak(spec, songs, gain_db, tightest, held=gain_db != wanted_db),
        SAME,
    ]
    return AlbumGain(gain_db, "; ".join(text for text in sentences if text))


def _usable_headroom_db(spec: Spec, measured: Measurement) -> float:
    """Headroom to the ceiling, less half of the last digit printed."""
    usable_db = headroom_db(spec, measured)
    return usable_db - GAIN_SLACK_DB if usable_db > 0 else usable_db


def _peak(spec: Spec, songs: Songs, gain_db: float, tightest: str, *, held: bool) -> str:
    ceiling, peak = spec.limit("true_peak_max_dbtp"), dict(songs)[tightest].value("true_peak_dbtp")
    if peak is None:
        return ""
    kept = f", limited by the ceiling of {ceiling:.2f} dBTP" if held and ceiling is not None else ""
    under = f", the ceiling is {ceiling:.2f} dBTP" if ceiling is not None and not kept else ""
    return f"the highest peak is then {peak + gain_db:+.2f} dBTP, on track {tightest}{kept}{under}"
