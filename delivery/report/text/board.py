"""The board of watched folders on the terminal: a line for each release, and a line for each change when piped."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from delivery.model.release_state import Row
from delivery.report.text.releases import distinct_names, state_words, total_line
from delivery.report.view import words

FIRST = 60
"""Characters of the first sentence to settle."""


def board(rows: Sequence[Row], today: date) -> list[RenderableType]:
    """Every release: its state, what is open first, and since when."""
    table = Table(box=None, show_edge=False, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for heading, ratio in (("Release", 3), ("State", 2), ("First to settle", 3)):
        table.add_column(heading, overflow="fold", ratio=ratio)
    table.add_column("Since", no_wrap=True)
    states = [row.state for row in rows]
    for row, name in zip(rows, distinct_names(states), strict=True):
        table.add_row(Text(name), Text(row_words(row)), Text(_first(row)), Text(since(row.since, today)))
    return [table, Text(total_line(states))]


def change_line(row: Row, now: datetime) -> str:
    """'14:02  Harbour Arithmetic: 3 to settle': one change, for a log."""
    first = "" if row.writing or row.gone else _first(row)
    return f"{now:%H:%M}  {words.plain(row.state.title)}: {row_words(row)}" + (f"; {first}" if first else "")


def row_words(row: Row) -> str:
    """'ready', '3 to settle', 'being written', 'gone'."""
    if row.writing or row.gone:
        return "gone" if row.gone else "being written"
    count = len(row.state.to_settle)
    return f"{count} to settle" if count else state_words(row.state)


def since(moment: str, today: date) -> str:
    """'14:02' for today, else '27 Nov'."""
    at = datetime.fromisoformat(moment)
    return f"{at:%H:%M}" if at.date() == today else f"{at.day} {at:%b}"


def _first(row: Row) -> str:
    sentence = row.state.problem or next(iter(row.state.to_settle), "")
    sentence = words.plain(sentence)
    return sentence if len(sentence) <= FIRST else f"{sentence[: FIRST - 3]}..."
