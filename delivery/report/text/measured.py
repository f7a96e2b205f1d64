"""What `measure` prints: one file's figures by subject, for 80 columns, readable when piped."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from rich.console import Console, ConsoleOptions, RenderableType, RenderResult
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from delivery.model.figure import Figure, Measurement
from delivery.model.programme_totals import ProgrammeTotals
from delivery.report.view import words
from delivery.report.view.measured import Group, Row, grouped, together

INDENT = (0, 0, 0, 2)
NAMES = 27
"""Width of the column of names; longer ones fold."""
BLOCKS = "▁▂▃▄▅▆▇█"
LETTERS = ".:-=+*#@"
"""For consoles that speak no Unicode."""
DEEPEST_DB = 30.0
"""Curves of levels are drawn this far down from their highest point: a pause would flatten all the rest."""


def measure_table(path: Path, measurement: Measurement, figures: Mapping[str, Figure]) -> list[RenderableType]:
    """Every figure of one file, by subject; under each subject what could not be measured and why."""
    shown: list[RenderableType] = [Text(words.plain(path.name), style="bold")]
    for group in grouped(measurement, figures):
        shown += _group(group)
    return shown


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


def together_table(one: ProgrammeTotals, figures: Mapping[str, Figure]) -> list[RenderableType]:
    """Several files as one programme."""
    heading, rows, notes = together(one, figures)
    return [Text(heading, style="bold"), _rows(rows), *_notes(notes)]


def _group(group: Group) -> Iterator[RenderableType]:
    yield Text(group.subject.capitalize(), style="bold")
    if group.rows:
        yield _rows(group.rows)
    yield from _notes(group.notes)


def _notes(notes: Sequence[str]) -> Iterator[RenderableType]:
    yield from (Padding(Text(words.plain(note)), INDENT) for note in notes)


def _rows(rows: Sequence[Row]) -> RenderableType:
    table = Table(box=None, show_header=False, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0))
    table.add_column(width=NAMES, overflow="fold")
    table.add_column(overflow="fold")
    for row in rows:
        table.add_row(Text(row.name), Value(row))
    return Padding(table, INDENT)


class Value:
    """A row's value: the small drawing, the cells in columns, then the lines."""

    def __init__(self, row: Row) -> None:
        self._row = row

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        if self._row.curve:
            width = min(options.max_width, len(self._row.curve))
            yield Text(spark(self._row.curve, width, LETTERS if options.ascii_only else BLOCKS), no_wrap=True)
        if self._row.cells:
            yield Text("\n".join(in_columns(self._row.cells, options.max_width)), no_wrap=True)
        if self._row.lines:
            yield Text("\n".join(self._row.lines))


def spark(values: Sequence[float], width: int, signs: str = BLOCKS) -> str:
    """*values* as *width* signs of rising height; each stands for the highest of its share."""
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
