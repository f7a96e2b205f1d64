"""The SQLite file behind the cache: opened by many threads and processes, set aside when it is damaged."""

from __future__ import annotations

import sqlite3
from contextlib import suppress
from pathlib import Path

LAYOUT = 1
"""Version of the tables below; a file with another version is set aside, never converted: it is only a cache."""
WAIT_S = 2.0
"""Timeout for a lock held by another process. Waited for once: then the job continues without the file."""

TABLES = """
CREATE TABLE IF NOT EXISTS measurement (
    id INTEGER PRIMARY KEY AUTOINCREMENT, sha256 TEXT NOT NULL, meters TEXT NOT NULL, payload BLOB NOT NULL,
    UNIQUE (sha256, meters));
CREATE TABLE IF NOT EXISTS file (
    id INTEGER PRIMARY KEY AUTOINCREMENT, path BLOB NOT NULL UNIQUE, size_bytes INTEGER NOT NULL,
    mtime_ns INTEGER NOT NULL, ctime_ns INTEGER NOT NULL, sha256 TEXT NOT NULL);
"""


class NewerLayout(sqlite3.DatabaseError):
    """The file was made by a newer version of this program, which may still need it."""


def connect(path: Path | None) -> sqlite3.Connection:
    """Open the store at *path*, creating it if needed; None: in memory, for this process only.

    Raises
    ------
    OSError, sqlite3.OperationalError : it cannot be created or written
    NewerLayout : a newer version of this program made it
    sqlite3.DatabaseError : the file is damaged, is no such store, or has an older layout
    """
    if path is not None:
        path.parent.mkdir(parents=True, exist_ok=True)
    store = sqlite3.connect(":memory:" if path is None else path, timeout=WAIT_S, check_same_thread=False)
    try:
        _lay_out(store)
    except BaseException:
        store.close()
        raise
    return store


def _lay_out(store: sqlite3.Connection) -> None:
    with suppress(sqlite3.OperationalError):  # # no write-ahead log on network disks; another process may be setting it
        store.execute("PRAGMA journal_mode = WAL")
    store.execute("PRAGMA synchronous = NORMAL")
    if store.execute("PRAGMA user_version").fetchone()[0] == LAYOUT:
        return
    if store.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
        _refuse_other_layout(store)
    store.executescript(f"BEGIN IMMEDIATE; {TABLES} PRAGMA user_version = {LAYOUT}; COMMIT;")


def _refuse_other_layout(store: sqlite3.Connection) -> None:
    """Checked again under the lock: another process may have just created the tables."""
    store.execute("BEGIN IMMEDIATE")
    version = store.execute("PRAGMA user_version").fetchone()[0]
    store.rollback()
    if version > LAYOUT:
        raise NewerLayout(f"layout {version}")
    if version != LAYOUT:
        raise sqlite3.DatabaseError(f"layout {version}")


def set_aside(path: Path) -> Path:
    """Rename a damaged store for inspection; an older renamed one is replaced.

    Raises
    ------
    OSError : the folder does not permit it, or another program has the file open
    """
    aside = path.with_name(f"{path.name}.damaged")
    path.replace(aside)
    for suffix in ("-wal", "-shm"):
        path.with_name(path.name + suffix).unlink(missing_ok=True)
    return aside
