"""The one SQLite file of the ledger: where it lies, how it is opened, and what happens when it is damaged."""

from __future__ import annotations

import errno
import os
import sqlite3
from contextlib import suppress
from pathlib import Path

from delivery.ledger.migrations import migrate
from delivery.own_folders import data_folder

NAME = "ledger.sqlite3"
VARIABLE = "DELIVERY_LEDGER"
"""Environment variable with the path of the file, or of an existing folder for it."""
WAIT_S = 2.0
"""Timeout for a lock held by another process: for measurements, and for reading. Waited for once: then the job
continues without the file. In a file without a log a write locks out all readers while it is put on the disk."""
LONG_WAIT_S = 10.0
"""The same for writing what cannot be recomputed."""
NO_FOLDER = "its folder does not exist: is the drive connected?"
REPORTS: list[str] = []
"""What a command prints about the ledger however it ends, after an error as well: it can be seen only once."""
REBUILD = "Read the packages back with 'delivery history --rebuild FOLDER'."


def default_path() -> Path:
    """Set by the environment; else in the system's folder for data that cannot be recomputed."""
    stated = stated_path()
    return file_at(stated) if stated else data_folder() / NAME


def stated_path() -> Path | None:
    """Value from the environment; None if unset."""
    text = os.environ.get(VARIABLE, "")
    return Path(text).expanduser() if text else None


def file_at(path: Path) -> Path:
    """The ledger at *path*: in it, if that is a folder."""
    return path / NAME if path.is_dir() else path


def connect(path: Path | None, *, durable: bool = False, patient: bool = False) -> sqlite3.Connection:
    """Open the ledger at *path*, creating it or bringing it forward if needed; None: in memory, for this process only.

    A write-ahead log needs memory that processes share, which a network drive does not have: it is used in the
    platform's data folder only.

    Parameters
    ----------
    durable : each transaction is on the disk when it ends; False: for measurements
    patient : a lock is waited for longer

    Raises
    ------
    OSError, sqlite3.OperationalError : it cannot be created or written
    NewerLayout, NotALedger : a newer version of this program or another program made it
    sqlite3.DatabaseError : the file is damaged (`is_damage`)
    """
    own = path is None or path.parent == data_folder()
    if path is not None and own:
        path.parent.mkdir(parents=True, exist_ok=True)
    if path is not None and is_out_of_reach(path):  # made there, it would be lost when the drive is connected
        raise FileNotFoundError(errno.ENOENT, NO_FOLDER, str(path))
    store = sqlite3.connect(
        ":memory:" if path is None else path,
        timeout=LONG_WAIT_S if patient else WAIT_S,
        isolation_level="IMMEDIATE",
        check_same_thread=False,
    )
    try:
        store.execute("PRAGMA user_version").fetchone()  # a file that is no database is named before it is changed
        migrate(store)
        with suppress(sqlite3.OperationalError):  # another process may be setting it
            store.execute(f"PRAGMA journal_mode = {'WAL' if own else 'DELETE'}")
        store.execute(f"PRAGMA synchronous = {'FULL' if durable else 'NORMAL'}")
    except BaseException:
        store.close()
        raise
    return store


def is_out_of_reach(path: Path) -> bool:
    """True for a ledger that a person placed in a folder that is not there: most likely on another drive."""
    return path.parent != data_folder() and not path.parent.is_dir()


def is_damage(error: BaseException) -> bool:
    """True if *error* means that the file's content is not a database, or is one with broken pages."""
    return getattr(error, "sqlite_errorcode", 0) & 0xFF in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)


def is_busy(error: BaseException) -> bool:
    """True if *error* says that another process holds the file."""
    return getattr(error, "sqlite_errorcode", 0) & 0xFF in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)


def set_aside(path: Path) -> Path:
    """Rename a damaged ledger, with its log, to a name that does not exist yet.

    Raises
    ------
    OSError : the folder does not permit it, or another program has the file open
    """
    names = (path.with_name(f"{path.name}.damaged{'' if number == 1 else f'-{number}'}") for number in range(1, 1000))
    aside = next(name for name in names if not name.exists())
    path.rename(aside)
    for suffix in ("-wal", "-journal"):
        with suppress(FileNotFoundError):
            path.with_name(path.name + suffix).rename(aside.with_name(aside.name + suffix))
    path.with_name(f"{path.name}-shm").unlink(missing_ok=True)
    return aside
