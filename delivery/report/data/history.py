"""Deliveries of the ledger as JSON documents: every field, hashes in full."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from delivery.ledger.handovers import Out
from delivery.ledger.past import Handover, PastDelivery
from delivery.report.view.history import History

LEFT_OUT = ("id", "release_key", "document", "approvals", "handovers")


def document(found: History) -> dict[str, Any]:
    """``total`` counts all; ``deliveries`` are the last ones first. ``matched``: the files that a queried file is."""
    return {
        "query": found.query,
        "found_by": found.found_by.value,
        "total": found.total,
        "deliveries": [
            {**delivery(each), "matched": list(found.matched.get(each.id, ()))} for each in found.deliveries
        ],
    }


def delivery(past: PastDelivery) -> dict[str, Any]:
    """An earlier delivery, as plain data."""
    return {
        **{name: value for name, value in asdict(past).items() if name not in LEFT_OUT},
        "approvals": [{"by": approver, "date": day} for approver, day in past.approvals],
        "handovers": [handover(each) for each in past.handovers],
    }


def handover(noted: Handover) -> dict[str, str]:
    """With the names that the command's options have."""
    return {
        "to": noted.recipient,
        "by": noted.sender,
        "date": noted.day,
        "how": noted.how,
        "answer": noted.answer,
        "answer_date": noted.answer_day,
    }


def handed_over(out: tuple[Out, ...]) -> dict[str, Any]:
    """What is out, oldest first, each with its delivery."""
    return {
        "open": [
            {
                **handover(each.handover),
                "approved": each.approved,
                "answered": each.answered,
                "newer_revision": each.newer_revision,
                "delivery": delivery(each.delivery),
            }
            for each in out
        ]
    }
