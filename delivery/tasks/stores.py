"""The ledger as one run of a command uses it: measurements, and what was delivered."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from delivery.ledger.cache import MeasurementCache
from delivery.ledger.deliveries import DeliveryLedger
from delivery.ledger.store import default_path, file_at, stated_path
from delivery.model.release import Studio
from delivery.pipeline import deliveries

if TYPE_CHECKING:
    from delivery.model.approval import Approval
    from delivery.model.part import Delivery

__all__ = ["MeasurementCache", "delivered_before", "deliveries_of", "ledger_path", "note_approval"]


def ledger_path(studio: Studio | None = None) -> Path:
    """The ledger's file: where the environment says, else the studio file, else in the system's folder for data.

    Parameters
    ----------
    studio : None: the studio file in force in the working folder, if there is one

    Raises
    ------
    Faulty : that studio file has faults
    """
    if stated_path() is not None:
        return default_path()
    named = (studio or _studio_here()).ledger
    return file_at(named) if named else default_path()


def deliveries_of(studio: Studio | None = None) -> DeliveryLedger:
    """The deliveries of that ledger."""
    return DeliveryLedger(ledger_path(studio))


def note_approval(release_file: Path, approval: Approval) -> tuple[str, ...]:
    """Note the approval with every delivery of exactly this audio; remarks, if the ledger cannot be used."""
    from delivery.intake import load_release, load_studio

    ledger = deliveries_of(load_studio(release_file))
    deliveries.approve(load_release(release_file), approval, ledger)
    return tuple(ledger.remarks)


def _studio_here() -> Studio:
    """Loads YAML only if there is a studio file: most commands need none."""
    from delivery.intake.studio.location import studio_file

    if not studio_file(Path.cwd()).is_file():
        return Studio()
    from delivery.intake import load_studio

    return load_studio(Path.cwd())


def delivered_before(delivery: Delivery, package: Path | None = None) -> tuple[str, ...]:
    """Ledger entries about this release's codes, in sentences.

    Parameters
    ----------
    package : built from it just now, and recorded; None: nothing is recorded
    """
    ledger = deliveries_of(delivery.studio)
    remarks = deliveries.remarks(delivery, ledger)
    if package is not None:
        deliveries.record(package, ledger)
    return (*remarks, *ledger.remarks)
