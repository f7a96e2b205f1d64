"""Lines that both the short and the full output of `check` and `build` print."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.padding import Padding
from rich.text import Text

from delivery.report.text import tables
from delivery.report.view.finding_rows import WaivedRow
from delivery.report.view.make import View

INDENT = (0, 0, 0, 2)


def title(view: View) -> Text:
    """Artist, title, revision and result in one line."""
    return Text.assemble((f"{view.running}, {view.revision}: ", "bold"), str(view.verdict))


def changes(view: View, most: int | None = None) -> Iterator[RenderableType]:
    """What differs from the last delivery: all of it, or the first *most* changes in a line each."""
    if not view.changed:
        return
    yield tables.heading(view.words.changes)
    yield Padding(Text(view.changed), INDENT)
    one_line = most is not None
    for line in view.changes[:most]:
        yield Padding(Text(f"- {line}", no_wrap=one_line, overflow="ellipsis" if one_line else None), INDENT)
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
