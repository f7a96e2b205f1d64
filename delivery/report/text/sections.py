"""What `compare SONG` prints: sections beside each other, for 80 columns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from delivery.report.view.sections import HEADS, SectionsView

FEW = 14
"""Sections of a song on one screen; all with --all."""


def sections_text(views: Sequence[SectionsView], *, everything: bool) -> Iterator[RenderableType]:
    """A table for each song, the notes once."""
    for number, view in enumerate(views):
        if number:
            yield ""
        yield Text(view.title, style="bold")
        yield Text(view.opening)
        if view.rows:
            yield _table(view.rows if everything else view.rows[:FEW])
        if not everything and len(view.rows) > FEW:
            yield Text(f"{len(view.rows) - FEW} more: --all.")
    yield ""
    yield from (Text(note) for note in dict.fromkeys(note for view in views for note in view.notes))
    yield Text("Figures, no grade. Beside a playlist: --reference NAME.")


def _table(rows: Sequence[Sequence[str]]) -> Table:
    table = Table(box=None, show_edge=False, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for number, head in enumerate(HEADS):
        table.add_column(head, justify="left" if number == 0 else "right", no_wrap=number > 0, overflow="fold")
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    return table
