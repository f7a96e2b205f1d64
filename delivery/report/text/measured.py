"""What `measure` prints: one file's figures by subject, for 80 columns, readable when piped."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from delivery.model.figure import Figure, Measurement
from delivery.report.view import words
from delivery.report.view.measured import Group, Row, grouped, together

if TYPE_CHECKING:
    from rich.console import RenderableType

    from delivery.model.programme_totals import ProgrammeTotals

INDENT = "  "
NAMES = 27
"""Width of the column of names; longer ones wrap."""
LEAST_WIDTH = 50
"""Least width of lines, for narrower terminals too: a column of values needs it."""
BLOCKS = "▁▂▃▄▅▆▇█"
LETTERS = ".:-=+*#@"
"""For consoles without Unicode."""
DEEPEST_DB = 30.0
"""Curves of levels are drawn this far down from their highest point: a pause would flatten all the rest."""


class Heading(str):
    """A line that a terminal shows in bold."""

    __slots__ = ()


def measure_table(
    path: Path, measurement: Measurement, figures: Mapping[str, Figure], width: int = 80, signs: str = BLOCKS
) -> list[str]:
    """Every figure of one file, by subject, in lines; under each subject what could not be measured and why.

    Parameters
    ----------
    width : of the terminal, in characters
    signs : for small drawings, BLOCKS or LETTERS
    """
    groups = grouped(measurement, figures)
    return [Heading(words.plain(path.name)), *(line for group in groups for line in _group(group, width, signs))]


COLUMNS = (
    ("Length", "duration_s", 0),
    ("Loudness\nLUFS", "integrated_lufs", 1),
    ("Loudest 3 s\nLUFS", "short_term_max_lufs", 1),
    ("Range\nLU", "loudness_range_lu", 1),
    ("True peak\ndBTP", "true_peak_dbtp", 2),
    ("Clipped\nruns", "clip_run_count", 0),
)
"""Of the table of several files: heading, figure, decimal places."""
SONGS_TABLE_NEEDS = tuple(figure for _, figure, _ in COLUMNS)


def songs_table(measured: Sequence[tuple[str, Measurement | None]]) -> list[RenderableType]:
    """One line a file; '-' where a figure was not measured.

    Parameters
    ----------
    measured : name of each file, and its measurement; None where it cannot be used
    """
    from rich.table import Table
    from rich.text import Text

    table = Table(box=None, show_edge=False, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("File", overflow="fold", ratio=1, vertical="bottom")
    for heading, _, _ in COLUMNS:
        table.add_column(heading, justify="right", no_wrap=True)
    for name, measurement in measured:
        table.add_row(Text(words.plain(name)), *(Text(_cell(measurement, *column[1:])) for column in COLUMNS))
    return [table]


def _cell(measurement: Measurement | None, figure: str, digits: int) -> str:
    value = measurement.value(figure) if measurement else None
    if value is None:
        return "-"
    return words.clock(value, 0) if figure == "duration_s" else f"{value:.{digits}f}"


def together_table(
    one: ProgrammeTotals, figures: Mapping[str, Figure], width: int = 80, signs: str = BLOCKS
) -> list[str]:
    """Several files as one programme, in lines as above."""
    heading, rows, notes = together(one, figures)
    return [Heading(heading), *_rows(rows, width, signs), *_notes(notes, width)]


def _group(group: Group, width: int, signs: str) -> Iterator[str]:
    yield Heading(group.subject.capitalize())
    yield from _rows(group.rows, width, signs)
    yield from _notes(group.notes, width)


def _notes(notes: Sequence[str], width: int) -> Iterator[str]:
    for note in notes:
        yield from (INDENT + line for line in _folded(words.plain(note), max(width, LEAST_WIDTH) - len(INDENT)))


def _rows(rows: Sequence[Row], width: int, signs: str) -> Iterator[str]:
    """Name and value of each row beside each other, both folded to their columns."""
    room = max(width, LEAST_WIDTH) - len(INDENT) - NAMES - 1
    for row in rows:
        names, values = _folded(row.label, NAMES), list(_value(row, room, signs))
        for at in range(max(len(names), len(values))):
            name = names[at] if at < len(names) else ""
            value = values[at] if at < len(values) else ""
            yield f"{INDENT}{name:<{NAMES}} {value}".rstrip()


def _value(row: Row, room: int, signs: str) -> Iterator[str]:
    """The small drawing, the cells in columns, then the lines."""
    if row.curve:
        yield spark(row.curve, min(room, len(row.curve)), signs)
    if row.cells:
        yield from in_columns(row.cells, room)
    for line in row.lines:
        yield from _folded(line, room)


def _folded(text: str, room: int) -> list[str]:
    if len(text) <= room:
        return [text]
    return textwrap.wrap(text, room, break_on_hyphens=False)


def spark(values: Sequence[float], width: int, signs: str = BLOCKS) -> str:
    """*values* as *width* signs of rising height; each shows the highest of its share."""
    shares = [values[len(values) * k // width : len(values) * (k + 1) // width] for k in range(width)]
    tops = [max(share) for share in shares]
    high = max(tops)
    low = max(min(tops), high - DEEPEST_DB)
    reach = (len(signs) - 1) / (high - low) if high > low else 0.0
    return "".join(signs[round(max(top - low, 0.0) * reach)] for top in tops)


def in_columns(cells: Sequence[str], width: int) -> list[str]:
    """*cells* set in lines of *width*, read along the lines, each column as wide as the widest cell."""
    wide = max(len(cell) for cell in cells) + 2
    across = max((width + 2) // wide, 1)
    lines = [cells[at : at + across] for at in range(0, len(cells), across)]
    return ["".join(f"{cell:<{wide}}" for cell in line).rstrip() for line in lines]
