"""The tables of the ledger, as numbered steps: a file of any earlier version is brought forward, never backward.

A step that was released is never changed; a new version appends one. ``PRAGMA user_version`` counts the steps done.
"""

from __future__ import annotations

import sqlite3

APPLICATION = 0x646C7679
"""Marks a file as a ledger of this program ('dlvy'), so that another program's database is never changed."""


class NotALedger(sqlite3.DatabaseError):
    """A database of another program; it is left as it is."""


class NewerLayout(sqlite3.DatabaseError):
    """The file was made by a newer version of this program, which may still need it."""


STEPS: tuple[tuple[str, ...], ...] = (
    (
        "CREATE TABLE measurement ("
        "id INTEGER PRIMARY KEY AUTOINCREMENT, sha256 TEXT NOT NULL, meters TEXT NOT NULL, payload BLOB NOT NULL, "
        "UNIQUE (sha256, meters))",
        "CREATE TABLE file ("
        "id INTEGER PRIMARY KEY AUTOINCREMENT, path BLOB NOT NULL UNIQUE, size_bytes INTEGER NOT NULL, "
        "mtime_ns INTEGER NOT NULL, ctime_ns INTEGER NOT NULL, sha256 TEXT NOT NULL)",
        # One delivery is one package, by the fingerprint of its tag manifest; '' for rows of the first ledger.
        "CREATE TABLE delivery ("
        "id INTEGER PRIMARY KEY AUTOINCREMENT, fingerprint TEXT NOT NULL, release_key TEXT NOT NULL, "
        "title TEXT NOT NULL, version TEXT NOT NULL, artist TEXT NOT NULL, label TEXT NOT NULL, client TEXT NOT NULL, "
        "catalogue_number TEXT NOT NULL, upc TEXT NOT NULL, revision INTEGER NOT NULL, dated TEXT NOT NULL, "
        "package TEXT NOT NULL, path TEXT NOT NULL, sealed_by TEXT NOT NULL, specs TEXT NOT NULL, "
        "waivers TEXT NOT NULL, turn INTEGER NOT NULL, words TEXT NOT NULL)",
        "CREATE INDEX delivery_turn ON delivery (turn)",
        "CREATE UNIQUE INDEX delivery_fingerprint ON delivery (fingerprint) WHERE fingerprint <> ''",
        "CREATE INDEX delivery_release ON delivery (release_key, revision, turn)",
        "CREATE INDEX delivery_upc ON delivery (upc) WHERE upc <> ''",
        "CREATE INDEX delivery_catalogue ON delivery (catalogue_number) WHERE catalogue_number <> ''",
        "CREATE INDEX delivery_dated ON delivery (dated)",
        # The data document lies apart: a search through 'words' need not read over it.
        "CREATE TABLE document (delivery INTEGER PRIMARY KEY REFERENCES delivery, payload BLOB NOT NULL)",
        "CREATE TABLE recording ("
        "id INTEGER PRIMARY KEY, delivery INTEGER NOT NULL REFERENCES delivery, position INTEGER NOT NULL, "
        "isrc TEXT NOT NULL, audio_hash TEXT NOT NULL, duration_s REAL NOT NULL, title TEXT NOT NULL, "
        "version TEXT NOT NULL, artist TEXT NOT NULL)",
        "CREATE INDEX recording_delivery ON recording (delivery)",
        "CREATE INDEX recording_isrc ON recording (isrc) WHERE isrc <> ''",
        "CREATE INDEX recording_audio ON recording (audio_hash) WHERE audio_hash <> ''",
        "CREATE TABLE part ("
        "id INTEGER PRIMARY KEY, delivery INTEGER NOT NULL REFERENCES delivery, spec TEXT NOT NULL, track INTEGER, "
        "path TEXT NOT NULL, sha256 TEXT NOT NULL, audio_hash TEXT NOT NULL)",
        "CREATE INDEX part_delivery ON part (delivery)",
        "CREATE INDEX part_sha256 ON part (sha256)",
        "CREATE INDEX part_audio ON part (audio_hash) WHERE audio_hash <> ''",
        "CREATE TABLE approval ("
        "id INTEGER PRIMARY KEY AUTOINCREMENT, delivery INTEGER NOT NULL REFERENCES delivery, approver TEXT NOT NULL, "
        "day TEXT NOT NULL, UNIQUE (delivery, approver, day))",
        "CREATE TABLE handover ("
        "id INTEGER PRIMARY KEY AUTOINCREMENT, delivery INTEGER NOT NULL REFERENCES delivery, recipient TEXT NOT NULL, "
        "sender TEXT NOT NULL, day TEXT NOT NULL, how TEXT NOT NULL, answer TEXT NOT NULL DEFAULT '', "
        "answer_day TEXT NOT NULL DEFAULT '')",
        "CREATE INDEX handover_delivery ON handover (delivery)",
        "CREATE TABLE imported (source TEXT PRIMARY KEY)",
        f"PRAGMA application_id = {APPLICATION}",
    ),
    ("CREATE INDEX delivery_path ON delivery (path)",),
    (  # a search by words reads this index alone, in the order of its answer, and not the wide rows
        "DROP INDEX delivery_turn",
        "CREATE INDEX delivery_words ON delivery (turn, words)",
    ),
    ("CREATE INDEX delivery_title ON delivery (title)",),  # the same release is looked for by its title too
    (  # what an audit of a catalogue keeps: smaller than a measurement, and as many rows as the catalogue has files
        "CREATE TABLE audited ("
        "sha256 TEXT NOT NULL, version TEXT NOT NULL, payload BLOB NOT NULL, PRIMARY KEY (sha256, version))",
    ),
)
LATEST = len(STEPS)


def migrate(store: sqlite3.Connection) -> None:
    """Do the steps that *store* lacks, all in one transaction; checked again under the lock, for a second process.

    Raises
    ------
    NewerLayout : a newer version of this program made it
    NotALedger : another program made it
    sqlite3.DatabaseError : it is damaged, locked or cannot be written
    """
    store.execute("BEGIN")  # one state for all that is read, while another process may be laying it out
    try:
        layout = _layout(store)
    finally:
        store.rollback()
    if layout == LATEST:
        return
    store.execute("BEGIN IMMEDIATE")
    try:
        for step in STEPS[_layout(store) :]:
            for statement in step:
                store.execute(statement)
        store.execute(f"PRAGMA user_version = {LATEST}")
        store.commit()
    except BaseException:
        store.rollback()
        raise


def _layout(store: sqlite3.Connection) -> int:
    """The number of steps done; within a transaction, since it is read in three parts."""
    layout: int = store.execute("PRAGMA user_version").fetchone()[0]
    mark: int = store.execute("PRAGMA application_id").fetchone()[0]
    empty = not store.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    if mark != APPLICATION and not (empty and layout == mark == 0):
        raise NotALedger("it is another program's database")
    if layout > LATEST:
        raise NewerLayout(f"layout {layout}")
    return layout
