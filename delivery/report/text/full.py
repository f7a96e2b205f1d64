"""The full output of `check` and `build` (`--all`, `--track`, `--rule`), for 80 columns, readable when piped."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from delivery.report.text import tables
from delivery.report.text.blocks import INDENT, approval, changes, title, waived
from delivery.report.view import words
from delivery.report.view.album import AlbumPicture
from delivery.report.view.carried import KEPT
from delivery.report.view.finding_rows import Notice
from delivery.report.view.lengths import length_line
from delivery.report.view.make import View
from delivery.report.view.notices import by_words


def check_table(view: View) -> list[RenderableType]:
    """A line for each spec, the album, the plan; then refusals, remarks and waivers."""
    steps = [*_steps("What would be done", view), *_carried("Tags and chunks of the masters, if built", view)]
    return [
        title(view),
        _routes(view),
        *changes(view),
        *running_orders(view),
        *album_pictures(view),
        *steps,
        *_answers("Refused as received", view),
    ]


def build_summary(view: View) -> list[RenderableType]:
    """What was written, its routes and steps, and what was not written and why."""
    steps = [*_steps("What was done", view), *_carried("Tags and chunks of the masters", view)]
    above = [*changes(view), *running_orders(view)]
    return [title(view), _routes(view), *above, *steps, *_refused(view), *_answers("Why", view)]


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
    yield from waived(view.waived)
    yield from _remarks(view.remarks)
    yield from approval(view)
    yield Text(f"{view.tally}.")


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
        ("place", notice.line_and_place),
        ("for", ", ".join(notice.specs) if len(notice.specs) < len(view.routes) else ""),
    )


def _remarks(remarks: Sequence[str]) -> Iterator[RenderableType]:
    yield from (Text(f"Remark: {remark}") for remark in remarks)
