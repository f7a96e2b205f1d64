"""Measurements in the ledger: file bytes -> measurement. Optional: everything works without them."""

from __future__ import annotations

import os
import sqlite3
import threading
import time
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Self, TypeVar

from delivery.absolute import absolute
from delivery.ledger.damage import begun_anew, identity
from delivery.ledger.file_state import Times, file_sha256, is_unchanged, stamp
from delivery.ledger.migrations import NewerLayout, NotALedger
from delivery.ledger.store import connect, default_path, is_damage
from delivery.ledger.text import from_bytes, to_bytes

if TYPE_CHECKING:
    from delivery.model.figure import Measurement

Answer = TypeVar("Answer")

KEPT = 8_000
"""Maximum number of measurements; the oldest are deleted. At about 50 kB each, and next to nothing for those that only
name another, the file stays near a quarter of a gigabyte."""
FILES_KEPT = 2_000_000
"""Maximum number of files whose hash is known: a catalogue is resumed by it. About 150 bytes each."""


class MeasurementCache:
    """Measurements by content and by the meters that made them. One instance per process, shared by threads.

    A problem with the file never stops a job: it becomes a remark, and the cache continues in memory.

    Parameters
    ----------
    path : the ledger; None: `default_path`
    kept : how many measurements at most
    """

    def __init__(self, path: Path | None = None, kept: int = KEPT) -> None:
        self.path = path or default_path()
        self.remarks: list[str] = []
        self._kept = kept
        self._lock = threading.Lock()
        self._store = self._opened()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the store."""
        with self._lock:
            self._store.close()

    def get(self, sha256: str, meters_version: str) -> Measurement | None:
        """Measurement of these bytes by these meters, or None."""
        found = self._ask(lambda store: _payload(store, sha256, meters_version), None)
        try:
            return from_bytes(found) if found else None
        except ValueError:
            return None  # # measured again and overwritten

    def has(self, sha256: str, meters_version: str) -> bool:
        """True if there is a measurement of these bytes by these meters; it is not read."""
        query = "SELECT 1 FROM measurement WHERE sha256 = ? AND meters = ?"
        return self._ask(lambda store: store.execute(query, (sha256, meters_version)).fetchone() is not None, False)

    def put(self, sha256: str, meters_version: str, measurement: Measurement) -> None:
        """Store *measurement*; the oldest ones are deleted if there are too many."""
        try:
            payload = to_bytes(measurement)
        except (TypeError, ValueError) as error:
            self.remarks.append(f"A measurement was not kept: {error}.")
            return
        self._ask(lambda store: _keep(store, (sha256, meters_version, payload), self._kept), None)

    def sha256(self, path: Path, now_ns: int | None = None) -> str:
        """SHA-256 of the file's bytes; not read again if path, size and times are unchanged since the last reading.

        Times are trusted only if they were two seconds old at the last reading.

        Parameters
        ----------
        now_ns : nanoseconds since 1970; None: the system's clock

        Raises
        ------
        Unreadable : as `file_sha256`
        """
        begun_ns = time.time_ns() if now_ns is None else now_ns
        before = stamp(path)
        known = self.known_at(os.fsencode(absolute(path)), before) if before else None
        if known:
            return known
        sha256 = file_sha256(path)
        self.note_sha256(path, before, sha256, begun_ns)
        return sha256

    def note_sha256(self, path: Path, before: Times | None, sha256: str, begun_ns: int | None = None) -> None:
        """Note the hash of a file that was read by other code.

        Parameters
        ----------
        before : its size and times when the reading began, at *begun_ns*; another file by now is not noted
        """
        begun_ns = time.time_ns() if begun_ns is None else begun_ns
        if before and is_unchanged(path, before, begun_ns):
            self.note_at(os.fsencode(absolute(path)), before, sha256)

    def known_sha256(self, path: Path) -> str | None:
        """As `sha256`, but never reads the file: None if it is unknown or has changed."""
        before = stamp(path)
        return self.known_at(os.fsencode(absolute(path)), before) if before else None

    def known_at(self, place: bytes, seen: Times) -> str | None:
        """The hash noted for the file at *place*, a path or an address, in the state *seen*; None if there is none."""
        return self._ask(lambda store: _known(store, place, seen), None)

    def note_at(self, place: bytes, seen: Times, sha256: str) -> None:
        """Note the hash of the file at *place* in the state *seen*, for `known_at`."""
        self._ask(lambda store: _remember(store, (place, *seen, sha256)), None)

    def audited(self, sha256: str, version: str) -> Measurement | None:
        """What an audit of this version kept of these bytes, or None."""
        query = "SELECT payload FROM audited WHERE sha256 = ? AND version = ?"
        found = self._ask(lambda store: store.execute(query, (sha256, version)).fetchone(), None)
        try:
            return from_bytes(found[0]) if found else None
        except ValueError:
            return None

    def keep_audited(self, sha256: str, version: str, measurement: Measurement) -> None:
        """Keep what an audit found in a file. Never pruned by number: a catalogue is audited as a whole."""
        row = (sha256, version, to_bytes(measurement))
        self._ask(lambda store: store.execute("INSERT OR REPLACE INTO audited VALUES (?, ?, ?)", row) and None, None)

    def forget_other_audits(self, version: str) -> None:
        """Delete what audits of other versions kept: it is never read again."""
        self._ask(lambda store: store.execute("DELETE FROM audited WHERE version <> ?", (version,)) and None, None)

    def _ask(self, work: Callable[[sqlite3.Connection], Answer], otherwise: Answer) -> Answer:
        """Run *work* in one transaction; if the store fails, add a remark and continue without it."""
        with self._lock:
            try:
                with self._store:
                    return work(self._store)
            except sqlite3.DatabaseError as error:
                self._store.close()
                self._store = self._begun_anew() if is_damage(error) else self._in_memory(str(error))
            return otherwise

    def _opened(self) -> sqlite3.Connection:
        self._identity = identity(self.path)
        try:
            return connect(self.path)
        except NewerLayout as newer:
            return self._in_memory(f"it was made by a newer version of this program ({newer}), and is left as it is")
        except NotALedger as other:
            return self._in_memory(f"{other}, and is left as it is")
        except (OSError, sqlite3.DatabaseError) as error:
            return self._begun_anew() if is_damage(error) else self._in_memory(_reason(error))

    def _begun_anew(self) -> sqlite3.Connection:
        try:
            store, remark = begun_anew(self.path, self._identity)
        except (OSError, sqlite3.DatabaseError) as error:
            return self._in_memory(f"damaged, and cannot be set aside: {_reason(error)}")
        self._identity = identity(self.path)
        self.remarks += [remark] if remark else []
        return store

    def _in_memory(self, reason: str) -> sqlite3.Connection:
        self.remarks.append(f"The ledger {self.path} cannot be used ({reason}); files are measured again.")
        return connect(None)


def _reason(error: Exception) -> str:
    return getattr(error, "strerror", None) or str(error)


def _payload(store: sqlite3.Connection, sha256: str, meters_version: str) -> bytes | None:
    query = "SELECT payload FROM measurement WHERE sha256 = ? AND meters = ?"
    row = store.execute(query, (sha256, meters_version)).fetchone()
    return row[0] if row else None


def _keep(store: sqlite3.Connection, row: tuple[str, str, bytes], kept: int) -> None:
    store.execute("INSERT OR REPLACE INTO measurement (sha256, meters, payload) VALUES (?, ?, ?)", row)
    newest = "SELECT id FROM measurement ORDER BY id DESC LIMIT 1 OFFSET ?"
    store.execute(f"DELETE FROM measurement WHERE id <= ({newest})", (kept,))


def _known(store: sqlite3.Connection, place: bytes, seen: Times) -> str | None:
    query = "SELECT sha256 FROM file WHERE path = ? AND size_bytes = ? AND mtime_ns = ? AND ctime_ns = ?"
    row = store.execute(query, (place, *seen)).fetchone()
    return row[0] if row else None


def _remember(store: sqlite3.Connection, row: tuple[bytes, int, int, int, str]) -> None:
    fields = "path, size_bytes, mtime_ns, ctime_ns, sha256"
    store.execute(f"INSERT OR REPLACE INTO file ({fields}) VALUES (?, ?, ?, ?, ?)", row)
    # Not the nth of the newest: counting to it takes longer with each file.
    store.execute("DELETE FROM file WHERE id <= (SELECT max(id) FROM file) - ?", (FILES_KEPT,))
