"""What a sheet says, in the keys of the release file. Pure."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from delivery.errors import Unusable
from delivery.intake.sheet.row import Row
from delivery.intake.sheet.rows import Copy
from delivery.model.label_copy import COLUMNS, ROUTES

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


SPEAKS_OF = {
    "composer": ("composers", "writers"), "lyricist": ("lyricists", "writers"),
    "writer": ("composers", "lyricists", "writers"), "share": ("writers",), "ipi": ("writers",),
    "society": ("writers",), "publisher": ("publishers", "writers"),
    "artist": ("artists",), "featured": ("artists",), "remixer": ("artists",),
    "producer": ("credits",), "mixer": ("credits",), "mastering_engineer": ("credits",), "other_credits": ("credits",),
    "language": ("language", "instrumental"), "number": ("number", "disc"),
}  # fmt: skip
"""Columns that are about other keys than the one of their name."""


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


def spoken_of(row: Row) -> frozenset[str]:
    """Keys of a track that *row* has a column for: what is empty there is empty on purpose."""
    return frozenset(key for name in row.places for key in SPEAKS_OF.get(name, (TRACK_KEYS.get(name, name),)))


def spoken_of_release(copy: Copy) -> frozenset[str]:
    """The same for the release. What stood above the table and is gone says nothing."""
    return frozenset(RELEASE_KEYS[name] for row in copy.rows for name in row.places if name in RELEASE_KEYS)


def unread_of(row: int, faults: Sequence[Unusable]) -> frozenset[str]:
    """Keys about which a row says nothing, for a cell of them could not be read; names of several cells are one key."""
    here = [match[1] for one in faults if (match := re.search(rf" [A-Z]+{row} ?(.*)$", one.place))]
    known = {COLUMNS[name].title: SPEAKS_OF.get(name, (TRACK_KEYS.get(name, name),)) for name in COLUMNS}
    people = tuple(key for keys in SPEAKS_OF.values() for key in keys)
    return frozenset(key for title in here for key in known.get(title, people))


def _main(row: Row) -> tuple[str, ...]:
    return tuple(artist["name"] for artist in row["artists"] or () if artist["role"] == "main")
