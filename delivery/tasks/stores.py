"""The ledger as one run of a command uses it: measurements, and what was delivered."""

from __future__ import annotations

from pathlib import Path

from delivery.ledger.cache import MeasurementCache
from delivery.ledger.deliveries import DeliveryLedger
from delivery.model.part import Delivery
from delivery.pipeline import deliveries

__all__ = ["MeasurementCache", "delivered_before"]


def delivered_before(delivery: Delivery, package: Path | None = None) -> tuple[str, ...]:
    """Ledger entries about this release's codes, in sentences.

    Parameters
    ----------
    package : built from it just now, and recorded; None: nothing is recorded
    """
    ledger = DeliveryLedger()
    remarks = deliveries.remarks(delivery, ledger)
    if package is not None:
        deliveries.record(package, ledger)
    return (*remarks, *ledger.remarks)
