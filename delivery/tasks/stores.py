"""The ledger as one run of a command uses it: measurements, and what was delivered."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from delivery.ledger.cache import MeasurementCache
from delivery.ledger.store import REPORTS, default_path, file_at, stated_path

if TYPE_CHECKING:
    from delivery.ledger.deliveries import DeliveryLedger
    from delivery.model.approval import Approval
    from delivery.model.part import Delivery
    from delivery.model.release import Studio
    from delivery.tasks.approve import Answered

__all__ = ["MeasurementCache", "delivered_before", "deliveries_of", "ledger_path", "note_answer", "note_approval"]


def ledger_path(studio: Studio | None = None) -> Path:
    """The ledger's file: set by the environment, else by the studio file, else in the system's folder for data.

    Parameters
    ----------
    studio : None: the studio file in force in the working folder, if there is one

    Raises
    ------
    Faulty : that studio file has faults
    """
    if stated_path() is not None:
        return _reported(default_path())
    stated = studio or _studio_here()
    return _reported(file_at(stated.ledger)) if stated and stated.ledger else default_path()


def _reported(path: Path) -> Path:
    """*path*, which a person stated; if nothing is there, that is said: a drive may not be connected."""
    if path.parent.is_dir() and not path.exists():
        REPORTS.append(f"There is no ledger at {path} yet.")
    return path


# Imported when wanted: a single short file is measured in less time than these take to load.


def deliveries_of(studio: Studio | None = None) -> DeliveryLedger:
    """The deliveries of that ledger."""
    from delivery.ledger.deliveries import DeliveryLedger

    return DeliveryLedger(ledger_path(studio))


def note_approval(release_file: Path, approval: Approval) -> tuple[str, ...]:
    """Note the approval with every delivery of exactly this audio; remarks, if the ledger cannot be used."""
    from delivery.intake import load_release, load_studio
    from delivery.pipeline import deliveries

    ledger = deliveries_of(load_studio(release_file))
    deliveries.approve(load_release(release_file), approval, ledger)
    return tuple(ledger.remarks)


def note_answer(release_file: Path, answered: Answered) -> tuple[str, ...]:
    """Note an answer that does not approve everything with the hand-overs that it answers; remarks.

    They are those of that revision to whoever answered or, if their name is not the recipient's, to the only recipient.
    """
    from delivery.intake import load_release, load_studio
    from delivery.ledger.handovers import HandoverLedger
    from delivery.pipeline.deliveries import identity_of

    ledger = deliveries_of(load_studio(release_file))
    given = answered.approval
    heard = dict(enumerate(given.audio_hashes, start=1)) if given else {}
    sent = ledger.of_revision(identity_of(load_release(release_file), heard), answered.revision)
    day = answered.dated.isoformat()
    waiting = [(each.fingerprint, one.recipient) for each in sent for one in each.handovers
               if not one.answer and one.day <= day]  # fmt: skip
    recipients = {recipient for _, recipient in waiting}
    whose = {name for name in recipients if name.casefold() == answered.by.casefold()}
    if not whose and len(recipients) > 1:
        return (*ledger.remarks, f"{answered.by} is none of the recipients of revision {answered.revision}: note the "
                "answer with 'delivery handover PACKAGE --to NAME --answer TEXT'.")  # fmt: skip
    notes = HandoverLedger(ledger.path)
    for fingerprint, recipient in waiting:
        if recipient in (whose or recipients):
            notes.answer(fingerprint, recipient, answered.in_words, day)
    return (*ledger.remarks, *notes.remarks)


def _studio_here() -> Studio | None:
    """The studio file of the working folder, if there is one; most commands need none."""
    from delivery.intake.studio.location import studio_file

    if not studio_file(Path.cwd()).is_file():
        return None
    from delivery.intake import load_studio

    return load_studio(Path.cwd())


def delivered_before(delivery: Delivery, package: Path | None = None) -> tuple[str, ...]:
    """Ledger entries about this release's codes, in sentences.

    Parameters
    ----------
    package : built from it just now, and recorded; None: nothing is recorded
    """
    from delivery.pipeline import deliveries

    ledger = deliveries_of(delivery.studio)
    remarks = deliveries.remarks(delivery, ledger)
    if package is not None and (built := deliveries.record(package, ledger)):
        remarks = (*deliveries.handed_over_otherwise(delivery, built, ledger), *remarks)
    return (*remarks, *ledger.remarks)
