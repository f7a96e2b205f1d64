"""The measurement cache and the ledger of deliveries, as one run of a command uses them."""

from __future__ import annotations

from delivery.ledger.cache import MeasurementCache
from delivery.ledger.sent import SentLedger
from delivery.model.part import Delivery
from delivery.pipeline import deliveries

__all__ = ["MeasurementCache", "sent_before"]


def sent_before(delivery: Delivery, *, record: bool = False) -> tuple[str, ...]:
    """Ledger entries about this release's codes, in sentences; *record*: add this delivery."""
    ledger = SentLedger()
    remarks = deliveries.remarks(delivery, ledger)
    if record:
        deliveries.record(delivery, ledger)
    return remarks
