"""A month by client for spreadsheets: UTF-8 with a mark, commas, nothing that calculates."""

from __future__ import annotations

import csv
import io

from delivery.report.data.parts_csv import cell
from delivery.report.view.month import MonthView

COLUMNS = ("month", "client", "songs", "parts", "minutes", "revisions", "redeliveries", "open_approvals")


def render(view: MonthView) -> bytes:
    """One row for each client; their sum is the spreadsheet's own work."""
    into = io.StringIO(newline="")
    writer = csv.writer(into, lineterminator="\n")
    writer.writerow(COLUMNS)
    for client in view.clients:
        writer.writerow([view.month, *(cell(text) for text in (client.client, *client.counts))])
    return into.getvalue().encode("utf-8-sig", errors="replace")
