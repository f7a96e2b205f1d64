"""Lines that both the short and the full output of `check` and `build` print."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rich.cells import cell_len, set_cell_size
from rich.console import Console, ConsoleOptions, RenderableType, RenderResult
from rich.padding import Padding
from rich.text import Text

from delivery.report.text import tables
from delivery.report.view.finding_rows import WaivedRow
from delivery.report.view.make import View

INDENT = (0, 0, 0, 2)


def cut(text: str, width: int) -> str:
    """*text* in at most *width* cells: cut after a word if that keeps half of the width, with an ellipsis."""
    if cell_len(text) <= width:
        return text
    kept = set_cell_size(text, max(0, width - 1))
    words = kept if text[len(kept)] == " " else kept.rpartition(" ")[0]
    return f"{(words if cell_len(words) >= width // 2 else kept).rstrip(' .,;:(')}…"


@dataclass(frozen=True, slots=True)
class OneLine:
    """Text in one line, cut where it does not fit."""

    text: str

    def __rich_console__(self, _console: Console, options: ConsoleOptions) -> RenderResult:
        yield Text(cut(self.text, options.max_width), no_wrap=True)


def title(view: View) -> Text:
    """Artist, title, revision and result in one line."""
    return Text.assemble((f"{view.running}, {view.revision}: ", "bold"), str(view.verdict))


def changes(view: View, most: int | None = None) -> Iterator[RenderableType]:
    """What differs from the last delivery: all of it, or the first *most* changes in a line each."""
    if not view.changed:
        return
    yield tables.heading(view.words.changes)
    yield Padding(Text(view.changed), INDENT)
    setter = Text if most is None else OneLine
    for line in view.changes[:most]:
        yield Padding(setter(f"- {line}"), INDENT)
    if most is not None and len(view.changes) > most:
        yield Padding(Text(f"and {len(view.changes) - most} more: --all"), INDENT)


def waived(rows: Sequence[WaivedRow]) -> Iterator[RenderableType]:
    """Every waiver with its name and reason; nothing without one."""
    if rows:
        yield tables.heading("Waivers")
        table = tables.table("track", "rule", "for", "by", "why")
        for row in rows:
            table.add_row(*map(Text, (row.track, row.what, row.specs, row.by, row.why)))
        yield Padding(table, INDENT)


def approval(view: View) -> Iterator[RenderableType]:
    """What the release file states as approved, and what the engineer can do where it is none of these files."""
    if view.approval:
        yield Text(f"{view.words.approval}: {view.approval} {view.approval_remedy}".rstrip())
