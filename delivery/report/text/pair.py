"""What `compare` prints of two files: the answer, then tables, for 80 columns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from delivery.report.view import words
from delivery.report.view.pair import HIT_HEADS, HIT_NOTE, SECTION_HEADS, TONE_HEADS, PairView, legend

FEW = 10
"""Sections on a screen; all with --all."""


def pair_table(view: PairView, one: str, other: str, *, everything: bool) -> Iterator[RenderableType]:
    """The sentences, the figures, the sections, and with *everything* hits and every third octave."""
    yield from (Text(sentence) for sentence in (*view.sentences, view.contrast) if sentence)
    yield ""
    yield _table(
        ("", words.plain(one), words.plain(other), "difference"), view.figures if everything else view.short_figures
    )
    if view.sections:
        yield ""
        yield _table(SECTION_HEADS, view.sections if everything else view.sections[:FEW])
        more = len(view.sections) - FEW
        yield Text(legend(one, other) + (f" {more} more: --all." if more > 0 and not everything else ""))
    if everything and view.hits:
        yield ""
        yield _table(HIT_HEADS, view.hits)
        yield Text(HIT_NOTE)
    if everything and view.tone:
        yield ""
        yield _table(TONE_HEADS, view.tone)
    yield ""
    yield from (Text(note) for note in view.notes)
    if not everything and view.tone:
        yield Text("Every figure, section and third octave, hits: --all.")


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Table:
    table = Table(box=None, show_edge=False, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for number, head in enumerate(heads):
        table.add_column(head, justify="left" if number == 0 else "right", overflow="fold")
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    return table
