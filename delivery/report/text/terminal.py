"""Terminal output of `check` and `build`, for 80 columns, readable when piped; no meaning depends on colour."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from delivery.report.text import tables
from delivery.report.view import words
from delivery.report.view.album import AlbumPicture
from delivery.report.view.carried import KEPT
from delivery.report.view.finding_rows import Notice, WaivedRow
from delivery.report.view.groups import Groups, Item, by_rule, groups_of
from delivery.report.view.lengths import length_line
from delivery.report.view.make import View
from delivery.report.view.notices import TO_CONFIRM, by_words

INDENT = (0, 0, 0, 2)
MOST_OWN = 6
"""Remarks about the build itself, such as altered names, in the short output."""
MOST_BUILT = 8
"""Lines of musts that are not met after a build."""
FEW = 3
"""Up to this many musts that are not met are printed in full after a build."""
MOST_CHANGES = 12
"""Lines of changes in the short output."""
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
    groups = groups_of(view.notices, view.remarks)
    return [
        _title(view),
        _routes_short(view),
        *_changes(view, MOST_CHANGES),
        *_group(f"{view.words.to_settle} ({len(groups.to_settle)})", groups.to_settle),
        *_group(f"{view.words.questions} ({len(groups.questions)})", groups.questions),
        *_brief(f"{view.words.remarks} ({groups.remark_count})", groups.remarks),
        *_waived(view.waived),
        *_approval(view),
        *_next(groups, release),
    ]


def build_short(view: View) -> list[RenderableType]:
    """What was written and what was not, within a screen."""
    groups = groups_of(view.notices)
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
        _title(view),
        _routes_short(view),
        *_changes(view, MOST_CHANGES),
        *to_settle,
        *([Text(f"{noted[0].upper()}{noted[1:]}: on the sheet, or with --all.")] if noted else []),
        *(Text(f"Remark: {text}") for text in view.remarks[:MOST_OWN]),
        *([Text(f"and {len(view.remarks) - MOST_OWN} more: --all")] if len(view.remarks) > MOST_OWN else []),
        *_approval(view),
        Text(f"{view.tally}." + ("" if groups.to_settle else " Ready is not the recipient's acceptance.")),
    ]


def notices_of(view: View, track: int | None = None, rule: str = "") -> list[RenderableType]:
    """Everything found about one track, or by one rule, with what each requires, the remedy and the place."""
    chosen = [
        notice
        for notice in view.notices
        if (track is None or notice.position == track) and (not rule or notice.rule == rule)
    ]
    if not chosen:
        return [Text("Nothing to settle, to ask or to note there.")]
    return [
        *_notices("To settle", [notice for notice in chosen if notice.refuses], view),
        *_notices("Remarks and questions", [notice for notice in chosen if not notice.refuses], view),
    ]


def check_table(view: View) -> list[RenderableType]:
    """A line for each spec, the album, the plan; then refusals, remarks and waivers."""
    steps = [*_steps("What would be done", view), *_carried("Tags and chunks of the masters, if built", view)]
    return [
        _title(view),
        _routes(view),
        *_changes(view),
        *running_orders(view),
        *album_pictures(view),
        *steps,
        *_answers("Refused as received", view),
    ]


def build_summary(view: View) -> list[RenderableType]:
    """What was written, its routes and steps, and what was not written and why."""
    steps = [*_steps("What was done", view), *_carried("Tags and chunks of the masters", view)]
    above = [*_changes(view), *running_orders(view)]
    return [_title(view), _routes(view), *above, *steps, *_refused(view), *_answers("Why", view)]


def running_orders(view: View) -> Iterator[RenderableType]:
    """Who receives which tracks; empty if every spec receives every track."""
    if view.running_orders:
        yield tables.heading("Running orders")
        yield from (Padding(Text(text), INDENT) for text in view.running_orders)


def album_pictures(view: View) -> Iterator[RenderableType]:
    """The album as one picture for each set of tracks: a line for each song, then what stands out."""
    for together in view.together:
        yield from _album_picture(together)
    yield from (Padding(Text(together.reads[0]), INDENT) for together in view.together[:1])


def _album_picture(together: AlbumPicture) -> Iterator[RenderableType]:
    yield tables.heading(together.title)
    table = Table(box=None, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0), header_style="bold")
    for at, head in enumerate(together.columns):
        table.add_column(head, justify="right" if at in together.figures else "left", overflow="fold")
    table.columns[1].min_width = 12
    for row in together.rows:
        table.add_row(*map(Text, row))
    yield Padding(table, INDENT)
    sentence = (*together.notes, *map(length_line, together.lengths))
    yield from (Padding(Text(note), INDENT) for note in sentence)


def _answers(refused: str, view: View) -> Iterator[RenderableType]:
    yield from _notices(refused, [notice for notice in view.notices if notice.refuses], view)
    yield from _notices("To note", [notice for notice in view.notices if not notice.refuses], view)
    yield from _waived(view.waived)
    yield from _remarks(view.remarks)
    yield from _approval(view)
    yield Text(f"{view.tally}.")


def _group(heading: str, items: Sequence[Item]) -> Iterator[RenderableType]:
    """Tracks and text; the rule's id ends the text, to be typed in a command."""
    if not items:
        return
    yield tables.heading(heading)
    table = Table(box=None, show_header=False, show_edge=False, pad_edge=False, padding=(0, 2, 0, 0))
    table.add_column(overflow="fold", max_width=12)
    table.add_column(overflow="fold")
    for item in items:
        table.add_row(Text(item.tracks), Text(f"{item.text}  [{item.rule}]" if item.rule else item.text))
    yield Padding(table, INDENT)


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
        yield Padding(Text(line, no_wrap=True, overflow="ellipsis"), INDENT)
    if len(items) > most:
        yield Padding(Text(f"and {len(items) - most} more: --all"), INDENT)


def _each_rule(groups: Groups) -> Sequence[Item]:
    return by_rule(notice for item in groups.to_settle for notice in item.notices)


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


def _changes(view: View, most: int | None = None) -> Iterator[RenderableType]:
    """What differs from the last delivery."""
    if not view.changed:
        return
    yield tables.heading(view.words.changes)
    yield Padding(Text(view.changed), INDENT)
    yield from (Padding(Text(f"- {line}"), INDENT) for line in view.changes[:most])
    if most is not None and len(view.changes) > most:
        yield Padding(Text(f"and {len(view.changes) - most} more: --all"), INDENT)


def _approval(view: View) -> Iterator[RenderableType]:
    if view.approval:
        yield Text(f"{view.words.approval}: {view.approval} {view.approval_remedy}".rstrip())


def _title(view: View) -> Text:
    return Text.assemble((f"{view.running}, {view.revision}: ", "bold"), str(view.verdict))


def _routes(view: View) -> RenderableType:
    table = tables.table("spec", "goes to", "files", "result")
    for route in view.routes:
        title = f"{route.spec} ({route.note})" if route.note else route.spec
        table.add_row(Text(title), Text(route.folder), Text(route.files), Text(str(route.verdict)))
    return Padding(table, INDENT)


def _steps(heading: str, view: View) -> Iterator[RenderableType]:
    """Each spec's chains with the reason for every step; tracks with the same chain are grouped."""
    alike: dict[tuple[str, tuple[tuple[str, str], ...]], list[str]] = {}
    numbers = words.numbers(view.delivery.release)
    for part in view.delivery.parts:
        if part.chain and (part.shipped or not view.delivery.built):
            steps = tuple((step.sentence, step.because) for step in part.chain.steps)
            alike.setdefault((part.spec, steps), []).append(numbers[part.track])
    if not alike:
        return
    yield tables.heading(heading)
    table = tables.table("spec", "track", "step", "because")
    table.columns[1].max_width = 12
    for (spec, steps), tracks in alike.items():
        for at, (sentence, because) in enumerate(steps):
            first = (spec, words.runs(tracks)) if at == 0 else ("", "")
            table.add_row(*(Text(words.plain(text)) for text in (*first, sentence, because)))
    yield Padding(table, INDENT)


def _carried(heading: str, view: View) -> Iterator[RenderableType]:
    """Tags and chunks of the masters that do not ship, and those replaced; equal tracks are grouped.

    What stays is on the sheet.
    """
    alike: dict[tuple[str, str, str], list[str]] = {}
    for row in (row for row in view.carried if row.what != KEPT):
        alike.setdefault((row.what, row.brief or row.text, ", ".join(row.specs)), []).append(row.track)
    if not alike:
        return
    yield tables.heading(heading)
    table = tables.table("track", "what", "for")
    table.columns[0].max_width = 12
    for (what, sentence, specs), tracks in alike.items():
        table.add_row(Text(words.runs(tracks)), Text(f"{what}: {sentence}"), Text(specs or "every file"))
    yield Padding(table, INDENT)


def _refused(view: View) -> Iterator[RenderableType]:
    """Files that were planned but are not in the package."""
    rows = [(table.spec, row) for table in view.parts for row in table.rows if not row.sha256]
    if rows:
        yield tables.heading("Not in the package")
        table = tables.table("spec", "track", "file", "result")
        for spec, row in rows:
            table.add_row(Text(spec), Text(row.number), Text(row.file), Text(str(row.verdict)))
        yield Padding(table, INDENT)


def _notices(heading: str, notices: Sequence[Notice], view: View) -> Iterator[RenderableType]:
    """A fault's found, wanted, remedy and place are set below each other, so that a narrow column never breaks a
    number."""
    if not notices:
        return
    yield tables.heading(heading)
    table = tables.table("track", "rule", "what")
    table.columns[0].max_width = 12
    table.columns[1].min_width, table.columns[1].max_width = 22, 28
    for notice in by_words(notices):
        details = "\n".join(f"{label:7}{text}" for label, text in _detail_rows(notice, view) if text)
        table.add_row(
            Text(notice.track), Text(f"{notice.rule}\n{notice.verdict.word} ({notice.bearing})"), Text(details)
        )
    yield Padding(table, INDENT)


def _detail_rows(notice: Notice, view: View) -> tuple[tuple[str, str], ...]:
    return (
        ("found", notice.found),
        ("wanted", notice.wanted),
        ("remedy", notice.remedy),
        ("why", notice.why),
        ("place", notice.place),
        ("for", ", ".join(notice.specs) if len(notice.specs) < len(view.routes) else ""),
    )


def _waived(rows: Sequence[WaivedRow]) -> Iterator[RenderableType]:
    if rows:
        yield tables.heading("Waivers")
        table = tables.table("track", "rule", "for", "by", "why")
        for row in rows:
            table.add_row(*map(Text, (row.track, row.what, row.specs, row.by, row.why)))
        yield Padding(table, INDENT)


def _remarks(remarks: Sequence[str]) -> Iterator[RenderableType]:
    yield from (Text(f"Remark: {remark}") for remark in remarks)
