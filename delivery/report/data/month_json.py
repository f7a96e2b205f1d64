"""A month as a JSON document: counts by client, each with its deliveries."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from delivery.report.view.month import MonthView


def document(view: MonthView) -> dict[str, Any]:
    """The report of a month, as plain data."""
    total = {name: value for name, value in asdict(view.total).items() if name not in ("client", "deliveries")}
    return {
        "month": view.month,
        "clients": [asdict(client) for client in view.clients],
        "total": total,
        "notes": list(view.notes),
    }
