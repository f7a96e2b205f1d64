"""Values of a sheet by key of the release file. Pure."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from delivery.errors import Unusable
from delivery.intake.sheet.row import Row
from delivery.intake.sheet.rows import Copy
from delivery.model.fields import FIELDS
from delivery.model.fields.row import NOT_IN_FILE

LISTS = ("artists", "composers", "lyricists", "writers", "publishers", "credits")
"""Keys filled by several columns together; a row holds them under the key itself."""
RELEASE_KEYS = {field.id: field.key for field in FIELDS.values() if field.of_release or field.id == "isni"}
TRACK_KEYS = {
    field.key if field.key in LISTS else field.id: field.key
    for field in FIELDS.values()
    if not field.of_release and field.key != NOT_IN_FILE and field.id != "isni"
}


def _columns_of(name: str) -> tuple[str, ...]:
    """Keys of a track that a column fills."""
    return (FIELDS[name].key, *FIELDS[name].about)


def release_keys(copy: Copy) -> dict[str, Any]:
    """The release's own keys; if the sheet has no release artist, the artist common to all rows is used."""
    keys = {RELEASE_KEYS[name]: data for name, data in copy.release.items() if name in RELEASE_KEYS}
    everybody = {_main(row) for row in copy.rows}
    if "artist" not in keys and len(everybody) == 1 and (common := everybody.pop()):
        keys["artist"] = " & ".join(common)
    return keys


def track_keys(row: Row, release_artist: str) -> dict[str, Any]:
    """One track's keys; artists equal to the release's are left out, as in a release file."""
    keys = {TRACK_KEYS[name]: data for name, data in row.values.items() if name in TRACK_KEYS}
    artists = keys.get("artists", ())
    same = all(artist["role"] == "main" for artist in artists) and " & ".join(_main(row)) == release_artist
    if artists and same and (len(artists) == 1 or not row["isni"]):  # several names are kept if they have codes
        del keys["artists"]
    if keys.get("instrumental") is False:
        del keys["instrumental"]
    return keys


def spoken_of(row: Row) -> frozenset[str]:
    """Keys of a track for which *row* has a column: an empty cell there is empty on purpose."""
    return frozenset(key for name in row.places for key in _columns_of(name))


def spoken_of_release(copy: Copy) -> frozenset[str]:
    """The same for the release. A value missing above the table is not a statement."""
    return frozenset(RELEASE_KEYS[name] for row in copy.rows for name in row.places if name in RELEASE_KEYS)


def unread_of(row: int, faults: Sequence[Unusable]) -> frozenset[str]:
    """Keys with an unreadable cell in a row; names from several cells are one key."""
    here = [match[1] for one in faults if (match := re.search(rf" [A-Z]+{row} ?(.*)$", one.place))]
    known = {field.title: _columns_of(name) for name, field in FIELDS.items()}
    people = tuple(key for field in FIELDS.values() for key in _columns_of(field.id) if key in LISTS or field.about)
    return frozenset(key for title in here for key in known.get(title, people))


def _main(row: Row) -> tuple[str, ...]:
    return tuple(artist["name"] for artist in row["artists"] or () if artist["role"] == "main")
