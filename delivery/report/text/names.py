"""Output of `names`: for each spec the master's name, the file's future name, and remarks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from delivery.model.file_name import FileName
from delivery.report.view import words


def names_table(named: Sequence[FileName]) -> Iterator[RenderableType]:
    """A heading for each spec and a table below it, for 80 columns, readable when piped."""
    for spec in words.unique(one.spec for one in named):
        yield Text(words.plain(spec), style="bold")
        table = Table(box=None, show_edge=False, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
        table.add_column("track")
        table.add_column("name", overflow="fold")
        for one in (one for one in named if one.spec == spec):
            table.add_row(Text(words.plain(one.what)), Text("\n".join(_lines(one))))
        yield Padding(table, (0, 0, 1, 2))


def _lines(one: FileName) -> Iterator[str]:
    """'01.wav', '-> 01 Low Water.wav', and below it the changes."""
    if one.now:
        yield words.plain(one.now)
    if one.name:
        yield f"-> {words.plain(one.name)}"
    yield from (f"   {words.plain(text)}" for text in one.remarks)
    yield from (f"   wrong: {words.plain(text)}" for text in one.wrong)
