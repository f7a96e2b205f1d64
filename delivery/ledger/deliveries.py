"""What was delivered: every package with its recordings, its files and its data document.

A notebook of one's own: it holds no audio and no clock times, only what the packages say, and no package depends on it.
A problem with the file never stops a job: it becomes a remark.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable
from contextlib import closing
from pathlib import Path
from typing import TypeVar

from delivery.ledger import first_ledger, rows
from delivery.ledger.damage import begun_anew, identity
from delivery.ledger.migrations import NewerLayout, NotALedger
from delivery.ledger.past import PastDelivery, SentRecording
from delivery.ledger.store import connect, default_path, is_damage

Found = TypeVar("Found")


class DeliveryLedger:
    """The deliveries of the ledger; opened for each call, so that another process never waits long.

    Parameters
    ----------
    path : the ledger; None: `default_path`
    """

    def __init__(self, path: Path | None = None) -> None:
        self.path = path or default_path()
        self.remarks: list[str] = []
        self._unusable = False

    def record(self, delivery: PastDelivery, *, built: bool = True) -> bool:
        """Store *delivery*; a package with the same fingerprint is the same delivery, and takes the new values.

        Parameters
        ----------
        built : it was built now, and is the last one; False: read back, it keeps its place in the order

        Returns
        -------
        True if it is recorded; if not, a remark says why
        """
        return self._write(lambda store: rows.write(store, delivery, built=built))

    def last_of(self, release_key: str) -> PastDelivery | None:
        """The last delivery of a release, with its data document: of the highest revision, the one recorded last."""
        query = "SELECT id FROM delivery WHERE release_key = ? AND fingerprint <> '' ORDER BY revision DESC, turn DESC"
        found = self._ids(f"{query} LIMIT 1", release_key)
        return self.get(found[0], document=True) if found else None

    def get(self, id: int, *, document: bool = False) -> PastDelivery | None:
        """The delivery of that number, or None; *document*: with its data document."""
        return self._read(lambda store: rows.read(store, id, document=document), None)

    def by_fingerprint(self, fingerprint: str) -> PastDelivery | None:
        """The delivery of the package with that fingerprint, or None."""
        query = "SELECT id FROM delivery WHERE fingerprint = ? AND fingerprint <> ''"
        found = self._ids(query, fingerprint)
        return self.get(found[0]) if found else None

    def sent_before(
        self,
        *,
        isrc: Iterable[str] = (),
        audio_hash: Iterable[str] = (),
        upc: Iterable[str] = (),
        catalogue_number: Iterable[str] = (),
    ) -> tuple[SentRecording, ...]:
        """Every recording delivered under one of these codes or with one of these sounds, oldest delivery first."""
        columns = {
            "recording.isrc": isrc,
            "recording.audio_hash": audio_hash,
            "delivery.upc": upc,
            "delivery.catalogue_number": catalogue_number,
        }
        wanted = {column: sorted({value for value in some if value}) for column, some in columns.items()}
        if not any(wanted.values()):
            return ()

        def look(store: sqlite3.Connection) -> dict[int, SentRecording]:
            return {number: sent for column, some in wanted.items() for number, sent in rows.sent(store, column, some)}

        nothing: dict[int, SentRecording] = {}
        found = self._read(look, nothing)
        return tuple(found[number] for number in sorted(found))

    def _ids(self, query: str, *values: object) -> list[int]:
        nothing: list[int] = []
        return self._read(lambda store: rows.ids(store, query, values), nothing)

    def _read(self, work: Callable[[sqlite3.Connection], Found], otherwise: Found) -> Found:
        """Run *work*; a ledger that does not exist yet is not made for it."""
        if not self.path.exists() and not first_ledger.path_of_first().exists():
            return otherwise
        return self._do(work, otherwise)

    def _write(self, work: Callable[[sqlite3.Connection], None]) -> bool:
        """Run *work* in one transaction, begun with the lock for writing; True if it was done."""

        def locked(store: sqlite3.Connection) -> bool:
            store.execute("BEGIN IMMEDIATE")
            work(store)
            return True

        return self._do(locked, False)

    def _do(self, work: Callable[[sqlite3.Connection], Found], otherwise: Found) -> Found:
        """Run *work* in one transaction; once more on a new ledger if this one is damaged; else one remark."""
        if self._unusable:
            return otherwise
        opened = identity(self.path)
        try:
            try:
                return self._done(connect(self.path), work)
            except sqlite3.DatabaseError as error:
                if not is_damage(error):
                    raise
                store, remark = begun_anew(self.path, opened)
                self.remarks += [remark] if remark else []
                return self._done(store, work)
        except NewerLayout as newer:
            self._give_up(f"it was made by a newer version of this program ({newer}), and is left as it is")
        except NotALedger as other:
            self._give_up(f"{other}, and is left as it is")
        except (OSError, sqlite3.DatabaseError) as error:
            self._give_up(getattr(error, "strerror", None) or str(error))
        return otherwise

    def _done(self, store: sqlite3.Connection, work: Callable[[sqlite3.Connection], Found]) -> Found:
        with closing(store):
            remark = first_ledger.import_first(store)
            self.remarks += [remark] if remark else []
            with store:
                return work(store)

    def _give_up(self, reason: str) -> None:
        self._unusable = True
        self.remarks.append(
            f"The ledger {self.path} cannot be used ({reason}): this delivery is not compared with earlier ones, and "
            "not recorded. The delivery itself is complete."
        )
