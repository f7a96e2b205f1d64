"""Import what the first ledger (`sent.sqlite3`, codes and recordings alone) holds, once. That file is left as it is."""

from __future__ import annotations

import platform
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from itertools import groupby
from pathlib import Path
from typing import Any

from delivery.absolute import absolute
from delivery.ledger import rows
from delivery.ledger.past import DeliveredRecording, PastDelivery
from delivery.own_folders import data_folder

NAME = "sent.sqlite3"
LAYOUT = 1
COLUMNS = (
    "release, revision, album, catalogue_number, upc, dated, position, isrc, audio_hash, duration_s, title, version, "
    "artist, specs, id"
)


def path_of_first() -> Path:
    """Path of the first ledger."""
    return data_folder() / NAME


def import_first(store: sqlite3.Connection) -> str:
    """Take over the deliveries of the first ledger unless that was done before; a remark if it cannot be read."""
    path = path_of_first()
    source = f"{platform.node()}:{path}"  # several machines may share the new ledger, each with a first one of its own
    if not path.is_file() or _imported(store, source):
        return ""
    try:
        found = tuple(_deliveries(path))
    except (OSError, sqlite3.DatabaseError) as error:
        return (
            f"The earlier ledger of deliveries {path} cannot be read ({error}); move it elsewhere to go on without it."
        )
    with store:
        store.execute("BEGIN IMMEDIATE")
        if not _imported(store, source):  # another process may have done it meanwhile
            for delivery in found:
                if not rows.holds(store, delivery):  # this machine may have had another name, or the file been copied
                    rows.write(store, delivery)
            store.execute("INSERT INTO imported (source) VALUES (?)", (source,))
    return ""


def _imported(store: sqlite3.Connection, source: str) -> bool:
    return bool(store.execute("SELECT 1 FROM imported WHERE source = ?", (source,)).fetchone())


def _deliveries(path: Path) -> Iterator[PastDelivery]:
    """One for each release and revision, oldest first."""
    with closing(sqlite3.connect(f"{absolute(path).as_uri()}?mode=ro", uri=True)) as first:
        layout = first.execute("PRAGMA user_version").fetchone()[0]
        if layout != LAYOUT:
            raise sqlite3.DatabaseError(f"layout {layout}")
        entries = first.execute(f"SELECT {COLUMNS} FROM sent ORDER BY release, revision, id").fetchall()
    groups = [tuple(some) for _key, some in groupby(entries, key=lambda row: row[:2])]
    for some in sorted(groups, key=lambda some: some[-1][-1]):
        yield _delivery(some)


def _delivery(some: tuple[tuple[Any, ...], ...]) -> PastDelivery:
    release, revision, album, catalogue_number, upc, dated, *_rest, artist, _specs, _id = some[-1]
    return PastDelivery(
        fingerprint="",
        release_key=release,
        title=album,
        version="",
        artist=artist,
        label="",
        client="",
        catalogue_number=catalogue_number,
        upc=upc,
        revision=revision,
        dated=dated,
        package="",
        path="",
        sealed_by="",
        specs=tuple({"id": spec} for spec in sorted({spec for row in some for spec in row[13].split()})),
        waivers=(),
        recordings=tuple(DeliveredRecording(*row[6:13]) for row in some),
    )
