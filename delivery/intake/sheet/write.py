"""What a sheet says, in the keys of the release file; and what an older release file keeps beside it. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from delivery.intake.masters import Master
from delivery.intake.sheet.identities import still_named
from delivery.intake.sheet.row import Row
from delivery.intake.sheet.rows import Copy
from delivery.model.label_copy import ROUTES

RELEASE_KEYS = {
    "album": "title", "album_artist": "artist", "album_version": "version", "release_language": "language",
    **{key: key for key in ("isni", "label", "catalogue_number", "upc", "release_date", "original_date", "p_line",
                            "c_line", "genre", "subgenre", "territories", "client")},
}  # fmt: skip
TRACK_KEYS = {
    "preview_start": "preview_start_s", "gap_before": "gap_before_s",
    **{key: key for key in ("title", "version", "disc", "number", "side", "artists", "isrc", "explicit", "composers",
                            "lyricists", "writers", "language", "instrumental", "publishers", "credits", "iswc",
                            "title_language", "bpm", "key", "original_artist", "recording_studio", "recording_country",
                            "recording_year", "samples", *ROUTES)},
}  # fmt: skip


def release_keys(copy: Copy) -> dict[str, Any]:
    """The release's own keys; where the sheet names no artist of the release, all rows' common one is it."""
    told = {RELEASE_KEYS[name]: data for name, data in copy.release.items() if name in RELEASE_KEYS}
    everybody = {_main(row) for row in copy.rows}
    if "artist" not in told and len(everybody) == 1 and (common := everybody.pop()):
        told["artist"] = " & ".join(common)
    return told


def track_keys(row: Row, release_artist: str) -> dict[str, Any]:
    """One track's keys; artists that are only the release's are left out, as the release file leaves them out."""
    told = {TRACK_KEYS[name]: data for name, data in row.values.items() if name in TRACK_KEYS}
    artists = told.get("artists", ())
    same = all(artist["role"] == "main" for artist in artists) and " & ".join(_main(row)) == release_artist
    if artists and same and (len(artists) == 1 or not row["isni"]):  # several names stay where they bear codes
        del told["artists"]
    if told.get("instrumental") is False:
        del told["instrumental"]
    return told


def kept(
    old: Mapping[str, Any],
    now: Mapping[str, Any],
    pairs: Mapping[str, Mapping[str, Any]],
    before: Mapping[str, Any] | None,
) -> tuple[dict[str, Any], dict[str, dict[str, Any]]]:
    """What the sheet says now, and of an older release file what the sheet has never spoken of: by hand, or by default.

    Parameters
    ----------
    old : the older release file as plain data
    now, pairs : keys of the release, and of each track by the name of its file
    before : what the last import said, in the words of the sheet; None when there was none
    """
    gone = _spoken(before["release"], RELEASE_KEYS) if before else set()
    release = {key: data for key, data in old.items() if key != "tracks" and key not in gone and data is not None}
    spoken = {str(track["file"]): _spoken(track, TRACK_KEYS) for track in before["tracks"]} if before else {}
    tracks: dict[str, dict[str, Any]] = {}
    earlier = {str(track.get("file")): track for track in old.get("tracks", ()) if isinstance(track, Mapping)}
    for name, told in pairs.items():
        mine = {
            key: data
            for key, data in earlier.get(name, {}).items()
            if key not in ("file", "disc", "number", *spoken.get(name, ())) and data is not None
        }
        if "writers" in told:
            mine.pop("composers", None)
            mine.pop("lyricists", None)
        tracks[name] = {**mine, **told}
    release.pop("isni", None)
    said = [entry["name"] for entry in before["release"].get("isni", ())] if before else []
    by_hand = [entry for entry in old.get("isni") or () if entry.get("name") not in said]
    older = still_named(by_hand, {**release, **now}, list(tracks.values()))
    coded = {entry["name"] for entry in now.get("isni", ())}
    every = [*now.get("isni", ()), *(entry for entry in older if entry["name"] not in coded)]
    return {**release, **now, **({"isni": every} if every else {})}, tracks


def order_changed(old: Mapping[str, Any], names: Sequence[str]) -> bool:
    """Whether tracks stand elsewhere than in the older file: what names positions may mean another track now."""
    before = [str(track.get("file")) for track in old.get("tracks", ()) if isinstance(track, Mapping)]
    return before != list(names)


def masters_with_numbers(pairs: Sequence[tuple[Row, Master]]) -> list[Master]:
    return [master for _, master in pairs]


def _spoken(said: Mapping[str, Any], keys: Mapping[str, str]) -> set[str]:
    return {keys[name] for name in said if name in keys}


def _main(row: Row) -> tuple[str, ...]:
    return tuple(artist["name"] for artist in row["artists"] or () if artist["role"] == "main")
