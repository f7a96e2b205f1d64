"""Several releases on the terminal: a line for each, what keeps them from being ready, and one total."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from delivery.model.finding import Result
from delivery.model.release_state import ReleaseState
from delivery.report.view import words

MOST = 20
"""Releases that are not ready, with their sentences, before --all is needed."""
FEW = 3
"""Sentences of each."""


def releases_table(states: Sequence[ReleaseState]) -> RenderableType:
    """One line a release: its name, its state in words, and how much is open."""
    table = Table(box=None, show_edge=False, pad_edge=False, padding=(0, 2, 0, 0), header_style="bold")
    table.add_column("Release", overflow="fold", ratio=1)
    table.add_column("State", overflow="fold")
    for heading in ("To settle", "Questions", "Remarks"):
        table.add_column(heading, justify="right", no_wrap=True)
    names = distinct_names(states)
    for state, name in zip(states, names, strict=True):
        open_items = (len(state.to_settle), state.questions, state.remarks)
        table.add_row(Text(name), Text(state_words(state)), *(Text(f"{count or '-'}") for count in open_items))
    return table


def distinct_names(states: Sequence[ReleaseState]) -> list[str]:
    """The title of each, with its folder where two have one title."""
    seen = Counter(state.title for state in states)
    folders = (state.path.resolve().parent.name for state in states)
    return [
        words.plain(state.title if seen[state.title] == 1 else f"{state.title} ({folder})")
        for state, folder in zip(states, folders, strict=True)
    ]


def releases_short(states: Sequence[ReleaseState], root: Path, everything: bool = False) -> list[RenderableType]:
    """The table, what to settle in those that are not ready, the total, and where to go on.

    Parameters
    ----------
    root : the working folder; paths below it are printed from there
    everything : every sentence of every release
    """
    stuck = [state for state in states if state.result in (Result.NOT_READY, Result.UNUSABLE)]
    shown = stuck if everything else stuck[:MOST]
    lines: list[RenderableType] = [releases_table(states), Text("")]
    for state in shown:
        lines.append(Text(f"{words.plain(state.title)}  ({state.address or _place(state.path, root)})", style="bold"))
        sentences = (state.problem,) if state.problem else state.to_settle
        kept = sentences if everything else sentences[:FEW]
        lines += [Text(f"  {words.plain(sentence)}") for sentence in kept]
        if len(sentences) > len(kept):
            lines.append(Text(f"  and {len(sentences) - len(kept)} more"))
    if len(stuck) > len(shown):
        lines.append(Text(f"and {words.counted(len(stuck) - len(shown), 'more release')} not ready: --all"))
    return [*lines, Text(total_line(states)), *([Text("One release in full: delivery check RELEASE")] if stuck else [])]


def total_line(states: Sequence[ReleaseState]) -> str:
    """'214 releases: 180 ready, 30 ready with remarks, 4 not ready; 1,070 files planned from 13 h 20 min of music.'"""
    counts = {result: sum(state.result is result for state in states) for result in Result}
    each = ", ".join(f"{count:,} {_RESULTS[result]}" for result, count in counts.items() if count)
    seconds = sum(state.seconds for state in states)
    hours, minutes = divmod(round(seconds / 60), 60)
    length = f"{hours:,} h {minutes} min" if hours else f"{minutes} min" if minutes else f"{seconds:.0f} s"
    parts = words.counted(sum(state.parts for state in states), "file")
    return f"{words.counted(len(states), 'release')}: {each or 'none'}; {parts} planned from {length} of music."


def state_words(state: ReleaseState) -> str:
    """The state as the other commands call it; after a build also what became of the package."""
    return _RESULTS[state.result] + (", nothing changed" if state.unchanged else ", packed" if state.package else "")


_RESULTS = {
    Result.READY: "ready",
    Result.REMARKS: "ready with remarks",
    Result.NOT_READY: "not ready",
    Result.UNUSABLE: "cannot be used",
}


def _place(path: Path, root: Path) -> str:
    path = path.resolve()
    return str(path.relative_to(root)) if path.is_relative_to(root) else str(path)
