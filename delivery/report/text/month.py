"""A month on the terminal: the clients, then each client's deliveries."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType
from rich.text import Text

from delivery.report.text.history import table
from delivery.report.view.month import COLUMNS, DELIVERY_COLUMNS, NUMBERS, MonthView, row


def month(view: MonthView, *, everything: bool) -> Iterator[RenderableType]:
    """For 80 columns, readable when piped.

    Parameters
    ----------
    everything : with every delivery
    """
    yield Text(f"Deliveries in {view.title}", style="bold")
    yield ""
    if not view.clients:
        yield Text("None.")
    else:
        rows = [(client.client, *client.counts) for client in view.clients]
        total = [(view.total.client, *view.total.counts)] if len(view.clients) > 1 else []
        yield table(COLUMNS, [*rows, *total], NUMBERS)
    for client in view.clients if everything else ():
        yield ""
        yield Text(client.client, style="bold")
        yield table(DELIVERY_COLUMNS, [row(each) for each in client.deliveries], NUMBERS)
    yield ""
    yield from (Text(note) for note in view.notes)
