"""Deliveries to rows of the ledger's tables, and back. Each function works in its caller's transaction."""

from __future__ import annotations

import json
import sqlite3
import unicodedata
import zlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import fields
from typing import Any

from delivery.ledger.past import DeliveredFile, DeliveredRecording, Handover, PastDelivery, Standing
from delivery.ledger.same_release import key_for
from delivery.model.recording import Recording

MOST_ASKED = 500
"""Maximum values in one query; SQLite has a limit."""
MOST_BYTES = 256 * 2**20
"""Size limit of a data document; a release of 14 songs to five specs has two million bytes."""
QUICK = 1
"""How hard a data document is compressed, of 9: 6 takes four times as long for a twelfth less."""

_TEXTS = tuple(each.name for each in fields(PastDelivery))[: [f.name for f in fields(PastDelivery)].index("specs")]
"""The columns that are stored as they are."""
_RECORDING = tuple(each.name for each in fields(DeliveredRecording))
_FILE = tuple(each.name for each in fields(DeliveredFile))
HANDOVER = tuple(each.name for each in fields(Handover))


_IS_REPLACED = (
    "({0}.path <> '' AND EXISTS (SELECT 1 FROM delivery AS later WHERE later.path = {0}.path AND later.turn > {0}.turn)"
    " AND NOT EXISTS (SELECT 1 FROM handover WHERE delivery = {0}.id))"
)
_REPLACED = f"SELECT 1 FROM delivery AS own WHERE own.id = ? AND {_IS_REPLACED.format('own')}"


def normalised(text: str) -> str:
    """*text* as the ledger searches it: lower case, without accents, single blanks."""
    plain = unicodedata.normalize("NFKD", text.casefold())
    return " ".join("".join(char for char in plain if not unicodedata.combining(char)).split())


def write(store: sqlite3.Connection, delivery: PastDelivery, *, built: bool = True) -> None:
    """Insert or refresh the delivery and all that belongs to it, except its hand-overs.

    Parameters
    ----------
    built : it is the last one now; False: if it is known, it keeps its place in the order
    """
    number = _row_of(store, delivery, built=built)
    for table in ("document", "recording", "part"):
        store.execute(f"DELETE FROM {table} WHERE delivery = ?", (number,))
    _insert(store, "recording", number, _RECORDING, delivery.recordings)
    _insert(store, "part", number, _FILE, delivery.files)
    if delivery.document is not None:
        payload = zlib.compress(_json(delivery.document).encode("utf-8"), QUICK)
        store.execute("INSERT INTO document (delivery, payload) VALUES (?, ?)", (number, payload))
    approvals = ((number, *approval) for approval in delivery.approvals)
    store.executemany("INSERT OR IGNORE INTO approval (delivery, approver, day) VALUES (?, ?, ?)", approvals)
    if delivery.fingerprint:
        _drop_first_rows(store, delivery, number)


def _row_of(store: sqlite3.Connection, delivery: PastDelivery, *, built: bool) -> int:
    """The number of the delivery's row, written or refreshed."""
    values = [*(getattr(delivery, name) for name in _TEXTS), _json(delivery.specs), _json(delivery.waivers)]
    row = dict(zip((*_TEXTS, "specs", "waivers", "words"), [*values, _words(delivery)], strict=True))
    if delivery.fingerprint:
        row["release_key"] = key_for(store, delivery)
    known = ids(store, "SELECT id FROM delivery WHERE fingerprint = ? AND fingerprint <> ''", (delivery.fingerprint,))
    if built or not known:
        row["turn"] = store.execute("SELECT coalesce(max(turn), 0) + 1 FROM delivery").fetchone()[0]
    if known:
        set_all = ", ".join(f"{name} = ?" for name in row)
        store.execute(f"UPDATE delivery SET {set_all} WHERE id = ?", (*row.values(), known[0]))
        return known[0]
    marks = ", ".join("?" for _ in row)
    made = store.execute(f"INSERT INTO delivery ({', '.join(row)}) VALUES ({marks})", tuple(row.values()))
    return made.lastrowid or 0


def _insert(store: sqlite3.Connection, table: str, number: int, names: Sequence[str], rows: Iterable[Any]) -> None:
    marks = ", ".join("?" for _ in range(len(names) + 1))
    store.executemany(
        f"INSERT INTO {table} (delivery, {', '.join(names)}) VALUES ({marks})",
        ((number, *(getattr(row, name) for name in names)) for row in rows),
    )


def _drop_first_rows(store: sqlite3.Connection, delivery: PastDelivery, number: int) -> None:
    """Remove the first ledger's rows of a delivery that its package describes in full."""
    first = "SELECT id FROM delivery WHERE fingerprint = '' AND release_key = ? AND revision = ?"
    for old in ids(store, first, (delivery.release_key, delivery.revision)):
        store.execute(
            "DELETE FROM recording WHERE delivery = ? AND (position, isrc, audio_hash) IN "
            "(SELECT position, isrc, audio_hash FROM recording WHERE delivery = ?)",
            (old, number),
        )
        if not store.execute("SELECT 1 FROM recording WHERE delivery = ?", (old,)).fetchone():
            store.execute("DELETE FROM delivery WHERE id = ?", (old,))


def holds(store: sqlite3.Connection, delivery: PastDelivery) -> bool:
    """Whether every recording of *delivery* is in the ledger already, under the same release and revision."""
    query = (
        "SELECT position, isrc, audio_hash FROM recording JOIN delivery ON delivery.id = recording.delivery "
        "WHERE release_key = ? AND revision = ?"
    )
    known = set(store.execute(query, (delivery.release_key, delivery.revision)))
    return {(each.position, each.isrc, each.audio_hash) for each in delivery.recordings} <= known


def ids(store: sqlite3.Connection, query: str, values: Sequence[Any] = ()) -> list[int]:
    """First column of the rows that *query* finds."""
    return [row[0] for row in store.execute(query, values)]


def read(store: sqlite3.Connection, number: int, *, document: bool = False) -> PastDelivery | None:
    """The delivery of that number; None if there is none. *document*: with its data document."""
    row = store.execute(f"SELECT {', '.join(_TEXTS)}, specs, waivers FROM delivery WHERE id = ?", (number,)).fetchone()
    if row is None:
        return None
    *texts, specs, waivers = row
    approvals = store.execute("SELECT approver, day FROM approval WHERE delivery = ? ORDER BY id", (number,))
    named: dict[str, Any] = dict(zip(_TEXTS, texts, strict=True))
    return PastDelivery(
        **named,
        specs=tuple(json.loads(specs)),
        waivers=tuple(json.loads(waivers)),
        recordings=tuple(DeliveredRecording(*each) for each in _rows_of(store, "recording", _RECORDING, number)),
        files=tuple(DeliveredFile(*each) for each in _rows_of(store, "part", _FILE, number)),
        approvals=tuple((approver, day) for approver, day in approvals),
        replaced=bool(store.execute(_REPLACED, (number,)).fetchone()),
        handovers=tuple(Handover(*each) for each in _rows_of(store, "handover", HANDOVER, number)),
        document=_document(store, number) if document else None,
        id=number,
    )


def standing(store: sqlite3.Connection, number: int) -> Standing:
    """State of the delivery of that number among those of its release."""
    again = (
        "SELECT 1 FROM delivery AS earlier, delivery AS own WHERE own.id = ? AND earlier.release_key = own.release_key "
        "AND earlier.revision = own.revision AND earlier.turn < own.turn "
        f"AND NOT {_IS_REPLACED.format('earlier')} LIMIT 1"
    )
    approved = (
        "SELECT 1 FROM approval WHERE delivery = (SELECT id FROM delivery WHERE release_key = "
        "(SELECT release_key FROM delivery WHERE id = ?) ORDER BY revision DESC, turn DESC LIMIT 1)"
    )
    return Standing(bool(ids(store, again, (number,))), bool(ids(store, approved, (number,))))


def _rows_of(store: sqlite3.Connection, table: str, names: Sequence[str], number: int) -> Iterator[tuple[Any, ...]]:
    yield from store.execute(f"SELECT {', '.join(names)} FROM {table} WHERE delivery = ? ORDER BY id", (number,))


def _document(store: sqlite3.Connection, number: int) -> Mapping[str, Any] | None:
    row = store.execute("SELECT payload FROM document WHERE delivery = ?", (number,)).fetchone()
    if row is None:
        return None
    try:
        found = json.loads(zlib.decompressobj().decompress(row[0], MOST_BYTES))
    except (zlib.error, ValueError, RecursionError):
        return None  # as if it had never been recorded
    return found if isinstance(found, dict) else None


def sent(store: sqlite3.Connection, column: str, values: list[str]) -> Iterator[tuple[int, Recording]]:
    """Recordings with one of *values* in *column*, by number."""
    texts = "release_key, delivery.title, revision, position, isrc, audio_hash, duration_s, recording.title"
    for start in range(0, len(values), MOST_ASKED):
        some = values[start : start + MOST_ASKED]
        marks = ", ".join("?" for _ in some)
        for number, *sent in store.execute(
            f"SELECT recording.id, {texts}, recording.version FROM recording "
            f"JOIN delivery ON delivery.id = recording.delivery WHERE {column} IN ({marks}) AND {column} <> ''",
            some,
        ):
            yield number, Recording(*sent)


def _words(delivery: PastDelivery) -> str:
    """Everything a person may search for."""
    own = (
        delivery.title, delivery.version, delivery.artist, delivery.label, delivery.client, delivery.catalogue_number,
        delivery.upc, delivery.package,
    )  # fmt: skip
    tracks = (text for one in delivery.recordings for text in (one.title, one.version, one.artist, one.isrc))
    return "\n".join(dict.fromkeys(normalised(text) for text in (*own, *tracks) if text))


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
