"""What `compare` prints of two files: the answer, then tables, for 80 columns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from delivery.report.view import words
from delivery.report.view.pair import TRANSIENT_HEADS, TRANSIENT_NOTE, PairView

FEW = 6
"""Sections and contrasts on a screen; all with --all."""


def pair_table(view: PairView, one: str, other: str, *, everything: bool) -> Iterator[RenderableType]:
    """The sentences, the figures, and with *everything* every third octave and section."""
    yield from (Text(sentence) for sentence in view.sentences)
    yield ""
    yield _table(("", words.plain(one), words.plain(other), "difference"), view.figures)
    if view.contrasts:
        yield ""
        yield from (Text(sentence) for sentence in (view.contrasts if everything else view.contrasts[:FEW]))
    if everything and view.sections:
        yield ""
        yield _table(("Section", "time", "LUFS", "LUFS", "at equal loudness"), view.sections)
    if everything and view.transients:
        yield ""
        yield _table(TRANSIENT_HEADS, view.transients)
        yield Text(TRANSIENT_NOTE)
    if everything and view.tone:
        yield ""
        yield _table(("Third octave", "dB at equal loudness"), view.tone)
    yield ""
    yield from (Text(note) for note in view.notes)
    if not everything and view.tone:
        yield Text("Every section and third octave: --all.")


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Table:
    table = Table(box=None, show_edge=False, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for number, head in enumerate(heads):
        table.add_column(head, justify="left" if number == 0 else "right", overflow="fold")
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    return table
