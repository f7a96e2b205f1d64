"""A damaged ledger is set aside; deliveries that can still be read are copied into a new one."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path

from delivery.ledger.store import REBUILD, REPORTS, connect, set_aside

CARRIED = ("delivery", "document", "recording", "part", "approval", "handover", "imported")
"""Tables that cannot be recomputed, or only from the packages. Measurements are made again."""
CHILDREN = ("document", "recording", "part", "approval", "handover")

Identity = tuple[int, int] | None


def identity(path: Path) -> Identity:
    """Device and number of the file at *path*: another process may have replaced it meanwhile."""
    try:
        status = path.stat()
    except OSError:
        return None
    return status.st_dev, status.st_ino


def begun_anew(
    path: Path, opened: Identity, *, durable: bool = False, patient: bool = False
) -> tuple[sqlite3.Connection, str]:
    """A whole ledger at *path* after damage was found there, and a remark; no remark if another process replaced it.

    Parameters
    ----------
    opened : of the file in which the damage was found
    durable, patient : as `connect`

    Raises
    ------
    OSError, sqlite3.DatabaseError : the damaged file cannot be set aside, or no new one can be made
    """
    if identity(path) != opened:
        return connect(path, durable=durable, patient=patient), ""
    aside = set_aside(path)
    store = connect(path, durable=durable, patient=patient)
    carried = _carry_over(aside, store)
    remark = (
        f"The ledger {path} was damaged; it was renamed to {aside.name}, and a new one was started"
        f"{f' with the {carried} deliveries that could be read' if carried else ''}. {REBUILD}"
    )
    REPORTS.append(remark)
    return store, remark


def _carry_over(aside: Path, store: sqlite3.Connection) -> int:
    """Copy the rows that can be read, from both ends of each table; the number of deliveries."""
    with suppress(sqlite3.DatabaseError), closing(sqlite3.connect(aside)) as damaged:
        with store:
            store.execute("BEGIN IMMEDIATE")
            for table in CARRIED:
                _copy(damaged, store, table)
            for table in CHILDREN:
                store.execute(f"DELETE FROM {table} WHERE delivery NOT IN (SELECT id FROM delivery)")
        found: int = store.execute("SELECT count(*) FROM delivery").fetchone()[0]
        return found
    return 0


def _copy(damaged: sqlite3.Connection, store: sqlite3.Connection, table: str) -> None:
    columns = [row[1] for row in store.execute(f"PRAGMA table_info({table})")]
    names, marks = ", ".join(columns), ", ".join("?" for _ in columns)
    for order in ("ASC", "DESC"):
        for row in _readable(damaged, f"SELECT {names} FROM {table} ORDER BY rowid {order}"):
            store.execute(f"INSERT OR IGNORE INTO {table} ({names}) VALUES ({marks})", row)


def _readable(damaged: sqlite3.Connection, query: str) -> Iterator[tuple[object, ...]]:
    with suppress(sqlite3.DatabaseError):
        yield from damaged.execute(query)
