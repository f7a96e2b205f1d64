"""What `compare` prints of two files: the answer, then tables, for 80 columns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from delivery.report.view import words
from delivery.report.view.pair import HIT_HEADS, HIT_NOTE, LEGEND, SECTION_HEADS, TONE_HEADS, PairView


def pair_table(view: PairView, one: str, other: str, *, everything: bool) -> Iterator[RenderableType]:
    """The sentences, the figures, the sections, and with *everything* hits and every third octave."""
    yield from (Text(sentence) for sentence in (*view.sentences, view.contrast) if sentence)
    yield ""
    yield _table(
        ("", words.plain(one), words.plain(other), "difference"), view.figures if everything else view.short_figures
    )
    if view.sections:
        yield ""
        yield _table(SECTION_HEADS, view.sections if everything else view.short_sections)
        more = len(view.sections) - len(view.short_sections)
        if everything:
            yield Text(LEGEND)
        elif more:
            yield Text(f"The largest steps, in LU; crest, PSR, width: 2 less 1. {more} more sections: --all.")
    if everything and view.hits:
        yield ""
        yield _table(HIT_HEADS, view.hits)
        yield Text(HIT_NOTE)
    if everything and view.tone:
        yield ""
        yield _table(TONE_HEADS, view.tone)
    if everything:
        yield ""
        yield from (Text(note) for note in view.notes)
    else:
        yield from (Text(note) for note in view.short_notes)


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Table:
    table = Table(box=None, show_edge=False, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    for number, head in enumerate(heads):
        table.add_column(head, justify="left" if number == 0 else "right", overflow="fold")
    for row in rows:
        table.add_row(*(Text(cell) for cell in row))
    return table
