"""The short output of `check` and `build`, for 80 columns, readable when piped; no meaning depends on colour."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, RenderableType, RenderResult
from rich.measure import Measurement
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from delivery.report.text import tables
from delivery.report.text.blocks import INDENT, OneLine, approval, changes, cut, title, waived
from delivery.report.view import words
from delivery.report.view.groups import Groups, Item, by_rule, groups_of
from delivery.report.view.make import View
from delivery.report.view.notices import TO_CONFIRM

MOST_OWN = 4
"""Lines of remarks about the build itself, such as altered names, after a build."""
MOST_BUILT = 8
"""Lines of musts that are not met after a build."""
FEW = 3
"""Up to this many musts that are not met are printed in full after a build."""
MOST_CHANGES = 5
"""Lines of changes after a check."""
MOST_CHANGES_BUILT = 2
"""Lines of changes after a build."""
MOST_SETTLED = 18
"""Lines of musts that are not met, after a check."""
TRACKS = 12
"""Characters of the column with the tracks of what is to be settled."""
WIDEST_TRACKS = 20
"""Characters of the column with the tracks of a remark."""
MOST_RULES = 16
"""Lines of remarks in the short output."""


def check_short(view: View, release: str) -> list[RenderableType]:
    """What to do first: a line for each spec, then items to settle, questions, remarks, and the next command.

    Parameters
    ----------
    release : the release file as it is typed in a command
    """
    groups = groups_of(view.notices, view.remarks, brief=True)
    return [
        title(view),
        _routes_short(view),
        *changes(view, MOST_CHANGES),
        *_settle(f"{view.words.to_settle} ({len(groups.to_settle)})", groups.settle_lines),
        *_group(f"{view.words.questions} ({len(groups.questions)})", groups.questions),
        *_brief(f"{view.words.remarks} ({groups.remark_count})", groups.remarks),
        *waived(view.waived),
        *approval(view),
        *_next(groups, release),
    ]


def build_short(view: View) -> list[RenderableType]:
    """What was written and what was not, within a screen."""
    groups = groups_of(view.notices, brief=True)
    heading = f"{view.words.to_settle} ({len(groups.to_settle)})"
    in_full = len(groups.to_settle) <= FEW
    to_settle = _group(heading, groups.to_settle) if in_full else _brief(heading, _each_rule(groups), MOST_BUILT)
    noted = ", ".join(
        text
        for count, text in (
            (
                len(groups.questions),
                words.counted(len(groups.questions), "question for the client", "questions for the client"),
            ),
            (groups.remark_count, words.counted(groups.remark_count, "remark")),
        )
        if count
    )
    return [
        title(view),
        _routes_short(view),
        *changes(view, MOST_CHANGES_BUILT),
        *to_settle,
        *([Text(f"{noted[0].upper()}{noted[1:]}: on the sheet, or with --all.")] if noted else []),
        *(OneLine(f"Remark: {text}") for text in view.remarks[:MOST_OWN]),
        *([Text(f"and {len(view.remarks) - MOST_OWN} more: --all")] if len(view.remarks) > MOST_OWN else []),
        *approval(view),
        Text(f"{view.tally}." + ("" if groups.to_settle else " Ready is not the recipient's acceptance.")),
    ]


def _group(heading: str, items: Sequence[Item]) -> Iterator[RenderableType]:
    """Tracks and text, in as many lines as it takes; the rule's id ends the text, to be typed in a command."""
    if not items:
        return
    yield tables.heading(heading)
    table = _plain_table()
    table.add_column(overflow="fold", max_width=TRACKS)
    table.add_column(overflow="fold")
    for item in items:
        table.add_row(Text(item.tracks), Text(f"{item.text}  [{item.rule}]" if item.rule else item.text))
    yield Padding(table, INDENT)


def _settle(heading: str, items: Sequence[Item]) -> Iterator[RenderableType]:
    """Tracks and text in one line each, as much as fits; the rule's id ends it."""
    if not items:
        return
    yield tables.heading(heading)
    table = _plain_table()
    widest = max(len(item.tracks) for item in items[:MOST_SETTLED])
    table.add_column(no_wrap=True, overflow="ellipsis", width=min(TRACKS, widest))
    table.add_column()
    for item in items[:MOST_SETTLED]:
        table.add_row(Text(item.tracks), ItemLine(item))
    yield Padding(table, INDENT)
    if len(items) > MOST_SETTLED:
        yield Padding(Text(f"and {len(items) - MOST_SETTLED} more: --all"), INDENT)


def _plain_table() -> Table:
    return Table(box=None, show_header=False, show_edge=False, pad_edge=False, padding=(0, 2, 0, 0))


@dataclass(frozen=True, slots=True)
class ItemLine:
    """The text of an item in one line: all of it, or what was found and the first remedy, or these cut."""

    item: Item

    def __rich_console__(self, _console: Console, options: ConsoleOptions) -> RenderResult:
        yield Text(self.within(options.max_width), no_wrap=True, overflow="ellipsis")

    def __rich_measure__(self, _console: Console, options: ConsoleOptions) -> Measurement:
        return Measurement(1, min(options.max_width, cell_len(self.item.text) + len(self._rule())))

    def within(self, width: int) -> str:
        """At most *width* cells, if the rule's id and a few words fit at all."""
        item, room = self.item, width - len(self._rule())
        short = f"{item.found}: {item.remedy}" if item.remedy else item.found
        for text in (item.text, short):
            if cell_len(text) <= room:
                return text + self._rule()
        end = f": {item.remedy}" if item.remedy and len(item.remedy) <= room // 2 else ""
        return cut(item.found, room - len(end)) + end + self._rule()

    def _rule(self) -> str:
        return f"  [{self.item.rule}]" if self.item.rule else ""


def _brief(heading: str, items: Sequence[Item], most: int = MOST_RULES) -> Iterator[RenderableType]:
    """A line for each rule; what does not fit is cut."""
    if not items:
        return
    yield tables.heading(heading)
    shown = items[:most]
    rules = max((len(item.rule) for item in shown), default=0)
    tracks = min(WIDEST_TRACKS, max((len(item.tracks) for item in shown if item.rule), default=0))
    for item in shown:
        line = f"{item.rule:{rules}}  {item.tracks:{tracks}}  {item.text}" if item.rule else item.text
        yield Padding(OneLine(line), INDENT)
    if len(items) > most:
        yield Padding(Text(f"and {len(items) - most} more: --all"), INDENT)


def _each_rule(groups: Groups) -> Sequence[Item]:
    return by_rule((notice for item in groups.to_settle for notice in item.notices), brief=True)


def _next(groups: Groups, release: str) -> Iterator[RenderableType]:
    """The commands to run next."""
    rules = {item.rule for item in groups.to_settle}
    is_elsewhere = "://" in release  # nothing is written there
    more, place = (" --remote --into FOLDER", "RELEASE") if is_elsewhere else ("", release)
    lines = [
        (is_elsewhere, "to change it, copy the release to this machine (RELEASE)"),
        (rules & {TO_CONFIRM}, f"confirm values:   delivery confirm {place} --all"),
        (rules - {TO_CONFIRM}, f"waive a must:     delivery waive {place} RULE:TRACK --by NAME --why TEXT"),
        (groups.remarks, f"accept a remark:  delivery accept {place} RULE:TRACK --by NAME --why TEXT"),
        ((1,) if not groups.to_settle else (), f"build:            delivery build {release}{more}"),
    ]
    yield tables.heading("Next")
    yield from (Text(f"  {line}", no_wrap=True, overflow="ignore") for applies, line in lines if applies)
    yield Padding(Text("see more:         --track 3, --rule RULE, --all"), INDENT)


def _routes_short(view: View) -> RenderableType:
    """A line for each spec: what becomes of its files."""
    table = tables.table("spec", "files", "result")
    for route in view.routes:
        title = f"{route.spec} ({route.note})" if route.note else route.spec
        table.add_row(Text(title), Text(route.files), Text(route.verdict.word))
    return Padding(table, INDENT)
