"""Tables and headings that all terminal output shares."""

from __future__ import annotations

from rich.table import Table
from rich.text import Text


def table(*heads: str) -> Table:
    """No colours, no boxes: heads over a line, columns that wrap."""
    made = Table(box=None, show_edge=False, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for head in heads:
        made.add_column(head, overflow="fold")
    return made


def heading(text: str) -> Text:
    """A heading with an empty line above it."""
    return Text(f"\n{text}", style="bold")
