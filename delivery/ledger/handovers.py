"""Hand-overs: which package went to whom, when and how, and what was answered. Notes by a person."""

from __future__ import annotations

import sqlite3
from dataclasses import astuple, dataclass

from delivery.ledger import rows
from delivery.ledger.access import LedgerAccess
from delivery.ledger.past import Handover, PastDelivery


@dataclass(frozen=True, slots=True)
class Out:
    """A package that left."""

    delivery: PastDelivery
    handover: Handover
    approved: bool
    """The audio of this delivery is approved."""
    answered: bool
    """The recipient answered, or the audio was approved on that day or later."""
    newer_revision: int | None
    """The highest later revision of the release in the ledger, not handed over to this recipient yet."""


class HandoverLedger(LedgerAccess):
    """The hand-overs of the ledger."""

    def note(self, fingerprint: str, handover: Handover) -> bool:
        """Add a hand-over of the package with that fingerprint; the same one again is kept once. True if noted."""
        names = ", ".join(rows.HANDOVER)
        same = "delivery = delivery.id AND recipient = ? AND sender = ? AND day = ? AND how = ?"

        def add(store: sqlite3.Connection) -> None:
            store.execute(
                f"INSERT INTO handover (delivery, {names}) SELECT id, ?, ?, ?, ?, ?, ? FROM delivery "
                f"WHERE fingerprint = ? AND NOT EXISTS (SELECT 1 FROM handover WHERE {same})",
                (*astuple(handover), fingerprint, handover.recipient, handover.sender, handover.day, handover.how),
            )

        return self.write(add)

    def withdraw(self, fingerprint: str, handover: Handover) -> bool:
        """Remove a hand-over of the package with that fingerprint, with its answer. True if the ledger was written."""

        def remove(store: sqlite3.Connection) -> None:
            store.execute(
                "DELETE FROM handover WHERE recipient = ? AND sender = ? AND day = ? AND how = ? "
                "AND delivery = (SELECT id FROM delivery WHERE fingerprint = ?)",
                (handover.recipient, handover.sender, handover.day, handover.how, fingerprint),
            )

        return self.write(remove)

    def answer(self, fingerprint: str, recipient: str, text: str, day: str) -> bool:
        """Note what *recipient* answered about that package, with every hand-over to them. True if noted."""

        def change(store: sqlite3.Connection) -> None:
            store.execute(
                "UPDATE handover SET answer = ?, answer_day = ? WHERE recipient = ? "
                "AND delivery = (SELECT id FROM delivery WHERE fingerprint = ?)",
                (text, day, recipient, fingerprint),
            )

        return self.write(change)

    def out(self) -> tuple[Out, ...]:
        """What left and is not approved or not answered, oldest first.

        A later revision that went to the same recipient takes the place of the earlier one.
        """

        def look(store: sqlite3.Connection) -> tuple[Out, ...]:
            numbers = rows.ids(store, f"SELECT DISTINCT delivery FROM handover {STILL_OPEN}")
            found = [each for number in numbers if (each := rows.read(store, number))]
            out = [_out(store, delivery, each) for delivery in found for each in delivery.handovers]
            waiting = (each for each in out if each and not (each.approved and each.answered))
            return tuple(sorted(waiting, key=lambda each: (each.handover.day, each.delivery.id)))

        nothing: tuple[Out, ...] = ()
        return self.read(look, nothing)


STILL_OPEN = "WHERE answer = '' OR NOT EXISTS (SELECT 1 FROM approval WHERE approval.delivery = handover.delivery)"


def _out(store: sqlite3.Connection, delivery: PastDelivery, handover: Handover) -> Out | None:
    """None if a later revision went to the same recipient."""
    later = store.execute(
        "SELECT max(revision), max(EXISTS (SELECT 1 FROM handover WHERE delivery = later.id AND recipient = ?)) "
        "FROM delivery AS later WHERE release_key = ? AND revision > ?",
        (handover.recipient, delivery.release_key, delivery.revision),
    ).fetchone()
    newer_revision, replaced = later
    if replaced:
        return None
    answered = bool(handover.answer) or any(day >= handover.day for _approver, day in delivery.approvals)
    return Out(delivery, handover, bool(delivery.approvals), answered, newer_revision)
