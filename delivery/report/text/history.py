"""Output of `history` and `open`: tables for 80 columns, readable when piped."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from delivery.ledger.handovers import Out
from delivery.report.view import history as view
from delivery.report.view import words

FEW = 3
"""Up to this many deliveries are described one by one."""
NARROW = frozenset({"Dated", "Rev"})


def history(found: view.History, *, everything: bool) -> list[RenderableType]:
    """The opening sentence, then each delivery by itself, or a table if there are many.

    Parameters
    ----------
    everything : every delivery with all its files
    """
    shown: list[RenderableType] = [Text(view.opening(found), style="bold")]
    if found.deliveries and (everything or len(found.deliveries) <= FEW):
        for delivery in found.deliveries:
            matched = found.matched.get(delivery.id, ())
            shown += ["", *(Text(line) for line in view.details(delivery, matched, everything=everything))]
    elif found.deliveries:
        shown += ["", table(view.COLUMNS, [view.row(each) for each in found.deliveries])]
    left_out = found.total - len(found.deliveries)
    return [*shown, *([Text(f"{left_out} earlier ones: --all.")] if left_out else [])]


def handed_over(out: Sequence[Out]) -> list[RenderableType]:
    """What is out and not approved or not answered."""
    if not out:
        return [Text("Nothing that is out waits for an approval or an answer.")]
    said = words.counted(len(out), "hand-over waits", "hand-overs wait")
    rows = [view.open_row(each) for each in out]
    return [Text(f"{said} for an approval or an answer.", style="bold"), "", table(view.OPEN_COLUMNS, rows)]


def table(columns: Sequence[str], rows: Sequence[Sequence[str]], numbers: frozenset[str] = frozenset()) -> Table:
    """A plain table; columns of *numbers* are set to the right."""
    made = Table(box=None, show_edge=False, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for column in columns:
        right = column in numbers or column == "Rev"
        made.add_column(column, justify="right" if right else "left", no_wrap=column in NARROW, overflow="fold")
    for row in rows:
        made.add_row(*(Text(text) for text in row))
    return made
