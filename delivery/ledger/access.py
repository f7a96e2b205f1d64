"""Reading and writing the ledger: opened for each call, so that another process never waits long.

A problem with the file never stops a job: it becomes a remark.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import TypeVar

from delivery.ledger import first_ledger
from delivery.ledger.damage import begun_anew, identity
from delivery.ledger.migrations import NewerLayout, NotALedger
from delivery.ledger.store import (
    LONG_WAIT_S,
    NO_FOLDER,
    REBUILD,
    WAIT_S,
    connect,
    default_path,
    is_busy,
    is_damage,
    is_out_of_reach,
)

Found = TypeVar("Found")


class LedgerAccess:
    """The ledger's file, and what is to be reported about it.

    Parameters
    ----------
    path : the ledger; None: `default_path`
    """

    def __init__(self, path: Path | None = None) -> None:
        self.path = path or default_path()
        self.remarks: list[str] = []
        self._unusable = False
        self._busy = False

    @property
    def usable(self) -> bool:
        """False once a remark states why it is not."""
        return not (self._unusable or self._busy)

    def read(self, work: Callable[[sqlite3.Connection], Found], otherwise: Found) -> Found:
        """Run *work*; a ledger that does not exist yet is not made for it.

        Another process that holds the file is waited for once, and shortly: nothing that is read is worth a delay of
        a delivery.
        """
        if self.usable and is_out_of_reach(self.path):
            self._give_up(NO_FOLDER)
        if self._busy or not (self.path.exists() or first_ledger.path_of_first().exists()):
            return otherwise
        return self._do(work, otherwise, patient=False)

    def write(self, work: Callable[[sqlite3.Connection], None]) -> bool:
        """Run *work* in one transaction, begun with the lock for writing; True if it was done.

        It is tried though reading was given up, and waits longer: what is written cannot be recomputed.
        """

        def locked(store: sqlite3.Connection) -> bool:
            store.execute("BEGIN IMMEDIATE")
            work(store)
            return True

        return self._do(locked, False, patient=True)

    def _do(self, work: Callable[[sqlite3.Connection], Found], otherwise: Found, *, patient: bool) -> Found:
        """Run *work* in one transaction; once more on a new ledger if this one is damaged; else one remark."""
        if self._unusable:
            return otherwise
        opened = identity(self.path)
        try:
            try:
                return self._done(connect(self.path, durable=True, patient=patient), work)
            except sqlite3.DatabaseError as error:
                if not is_damage(error):
                    raise
                store, remark = begun_anew(self.path, opened, durable=True, patient=patient)
                self.remarks += [remark] if remark else []
                return self._done(store, work)
        except NewerLayout as newer:
            self._give_up(f"it was made by a newer version of this program ({newer}), and is left as it is")
        except NotALedger as other:
            self._give_up(f"{other}, and is left as it is")
        except (OSError, sqlite3.DatabaseError) as error:
            if is_busy(error):
                self._pass_over(written=patient)
            else:
                self._give_up(getattr(error, "strerror", None) or str(error))
        return otherwise

    def _done(self, store: sqlite3.Connection, work: Callable[[sqlite3.Connection], Found]) -> Found:
        with closing(store):
            remark = first_ledger.import_first(store)
            self.remarks += [remark] if remark else []
            with store:
                return work(store)

    def _pass_over(self, *, written: bool) -> None:
        """Note that another process holds the ledger."""
        if written:
            self._unusable = True
            self.remarks.append(
                f"Another process kept the ledger {self.path} busy for {LONG_WAIT_S:g} s: nothing is recorded. "
                f"Packages are complete without it. {REBUILD}"
            )
        else:
            self._busy = True
            self.remarks.append(
                f"Another process kept the ledger {self.path} busy for {WAIT_S:g} s: it was not read, and nothing is "
                "compared with earlier deliveries in it."
            )

    def _give_up(self, reason: str) -> None:
        self._unusable = True
        self.remarks.append(
            f"The ledger {self.path} cannot be used ({reason}): nothing is compared with earlier deliveries, and "
            "nothing is recorded. Packages are complete without it."
        )
