"""Ledger of deliveries: each code with the recording it was used for. Optional: everything works without it.

The only record of earlier deliveries outside the packages; it holds no audio and no clock times, only values of release
files.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from dataclasses import astuple, dataclass, fields
from pathlib import Path

from delivery.own_folders import data_folder

LAYOUT = 1
WAIT_S = 2.0
MOST_ASKED = 500
"""Maximum values in one query; SQLite has a limit."""


@dataclass(frozen=True, slots=True)
class Sent:
    """One recording in one delivery."""

    release: str
    """Identifies a release: see `release_key`."""
    album: str
    catalogue_number: str
    upc: str
    revision: int
    position: int
    isrc: str
    audio_hash: str
    """Of the master."""
    duration_s: float
    title: str
    version: str
    artist: str
    specs: str
    """Ids, separated by blanks."""
    dated: str
    """As stated; empty if not."""


COLUMNS = tuple(field.name for field in fields(Sent))
TABLE = f"""
CREATE TABLE IF NOT EXISTS sent (
    id INTEGER PRIMARY KEY AUTOINCREMENT, {", ".join(f"{name} NOT NULL" for name in COLUMNS)},
    UNIQUE (release, revision, position, audio_hash, isrc));
CREATE INDEX IF NOT EXISTS sent_isrc ON sent (isrc);
CREATE INDEX IF NOT EXISTS sent_audio ON sent (audio_hash);
CREATE INDEX IF NOT EXISTS sent_upc ON sent (upc);
"""


def default_path() -> Path:
    """The system's folder for data that cannot be recomputed."""
    return data_folder() / "sent.sqlite3"


class SentLedger:
    """The ledger of deliveries. A problem with the file never stops a job: it becomes a remark.

    Parameters
    ----------
    path : the SQLite file; None: `default_path`
    """

    def __init__(self, path: Path | None = None) -> None:
        self.path = path or default_path()
        self.remarks: list[str] = []

    def record(self, rows: Iterable[Sent]) -> None:
        """Store *rows*; a recording delivered again in the same revision is kept once, with its latest values."""
        names, marks = ", ".join(COLUMNS), ", ".join("?" for _ in COLUMNS)
        told = [astuple(row) for row in rows]
        self._do(lambda store: store.executemany(f"INSERT OR REPLACE INTO sent ({names}) VALUES ({marks})", told))

    def like(
        self, *, isrc: Iterable[str] = (), audio_hash: Iterable[str] = (), upc: Iterable[str] = ()
    ) -> tuple[Sent, ...]:
        """Everything delivered under one of these codes or with one of these recordings, oldest first."""
        asked = {"isrc": isrc, "audio_hash": audio_hash, "upc": upc}
        values = {column: sorted({value for value in some if value}) for column, some in asked.items()}
        found: dict[int, Sent] = {}

        def look(store: sqlite3.Connection) -> None:
            for column, some in values.items():
                found.update(_rows(store, column, some))

        if any(values.values()) and self.path.exists():
            self._do(look)
        return tuple(found[number] for number in sorted(found))

    def _do(self, work: Callable[[sqlite3.Connection], object]) -> None:
        """Run *work* in one transaction; an unusable store is remarked once and left unchanged."""
        if self.remarks:
            return
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            with closing(sqlite3.connect(self.path, timeout=WAIT_S)) as store:
                _lay_out(store)
                with store:
                    work(store)
        except (OSError, sqlite3.DatabaseError) as error:
            self.remarks.append(
                f"The ledger of deliveries {self.path} cannot be used ({error}). "
                "Move it elsewhere to begin a new one; it cannot be recreated."
            )


def _lay_out(store: sqlite3.Connection) -> None:
    layout = store.execute("PRAGMA user_version").fetchone()[0]
    if layout == 0:
        store.executescript(f"BEGIN IMMEDIATE; {TABLE} PRAGMA user_version = {LAYOUT}; COMMIT;")
    elif layout != LAYOUT:
        raise sqlite3.DatabaseError(f"it has layout {layout}, of another version of this program")


def _rows(store: sqlite3.Connection, column: str, values: list[str]) -> Iterator[tuple[int, Sent]]:
    for start in range(0, len(values), MOST_ASKED):
        some = values[start : start + MOST_ASKED]
        marks = ", ".join("?" for _ in some)
        for number, *told in store.execute(
            f"SELECT id, {', '.join(COLUMNS)} FROM sent WHERE {column} IN ({marks})", some
        ):
            yield number, Sent(*told)
