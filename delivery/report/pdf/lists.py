"""Tables of the whole release: order, results, items to settle, questions, remarks, waivers, discs and sides."""

from __future__ import annotations

from collections.abc import Sequence

from delivery.report.pdf.flow import Flow
from delivery.report.pdf.log import accepted, log
from delivery.report.pdf.look import FINE, HEADING, LABEL, SMALL, SUBTITLE
from delivery.report.pdf.table import Cell, Column, Row, rule_above, table
from delivery.report.pdf.type import Style
from delivery.report.view.columns import widened
from delivery.report.view.finding_rows import Notice, WaivedRow
from delivery.report.view.groups import Groups, Item, once, sentence_of
from delivery.report.view.model import View
from delivery.report.view.part_rows import PartTable
from delivery.report.view.words import typographic

ITEM_SHARES = (0.10, 0.25, 0.65)
ITEM_PAD = 1.3
ORDER_SHARES = {"No.": 0.05, "Title": 0.38, "Artist": 0.22, "ISRC": 0.17}
REST = 0.12
"""Share of a column of times."""
MOST_SPECS = 6
"""Specs that fit as columns of the table of results; the others are listed below it."""


def path_style(style: Style) -> Style:
    """Folders and file names read left to right whatever they begin with."""
    return Style(style.size, style.leading, style.weight, style.colour, base=0)


def items(flow: Flow, heading: str, rows: Sequence[Item], floor: float = 0.0, *, count: int = 0) -> int:
    """A group under its name and count: tracks, rule and text; returns the number of rows set.

    Parameters
    ----------
    floor : where to stop, in points from the page's top; 0: nowhere
    count : printed beside the heading where a row sums up several; 0: the number of rows
    """
    fitting = len(rows)
    if floor:
        used, fitting = flow.y + SMALL.leading + 4, 0
        for item in rows:
            used += _item_height(flow, item)
            if used > floor:
                break
            fitting += 1
    if not fitting:
        return 0
    flow.need(3 * SMALL.leading)
    flow.y += 3
    flow.text(f"{heading} ({count or len(rows)})", SMALL.strong(), flow.sheet.left, flow.sheet.measure)
    columns = [Column("", share, style=SMALL) for share in ITEM_SHARES]
    table(flow, columns, [_item_row(item) for item in rows[:fitting]], pad=ITEM_PAD)
    return fitting


def _item_row(item: Item) -> Row:
    if not item.rule:
        return (Cell(typographic(item.text), span=3), "", "")
    return (item.tracks, item.rule, typographic(item.text))


def _item_height(flow: Flow, item: Item) -> float:
    cells = zip((item.tracks, item.rule, typographic(item.text)), ITEM_SHARES, strict=True)
    return max(flow.height(text, SMALL, flow.sheet.measure * share - 8.0) for text, share in cells) + 2 * ITEM_PAD


def programme_totals(view: View) -> str:
    """How long the album is, and how loud as one programme."""
    album = ", ".join(f"{fact.label[0].lower()}{fact.label[1:]} {fact.value}" for fact in view.album)
    return "; ".join(text for text in (view.order_total, album and f"{view.words.album}: {album}") if text)


def order(flow: Flow, view: View) -> None:
    """The running order, and who receives which tracks where not all specs receive every track."""
    rule_above(flow, view.words.order, HEADING, typographic(programme_totals(view)), above=10)
    heads, right = view.order_table.columns, view.order_table.right
    shares = widened([ORDER_SHARES.get(head, REST) for head in heads], range(len(heads)))
    columns = [
        Column(head, share, "right" if at in right else "left", SMALL)
        for at, (head, share) in enumerate(zip(heads, shares, strict=True))
    ]
    table(flow, columns, view.order_table.rows, pad=1.6)
    flow.y += 4 if view.running_orders else 0
    for text in view.running_orders:
        flow.text(typographic(text), SMALL, flow.sheet.left, flow.sheet.measure)
        flow.y += 2


def results(flow: Flow, view: View) -> None:
    """Which song is ready for which spec."""
    specs = len(view.results.columns)
    rule_above(flow, view.words.results, HEADING, view.tally, above=10)
    for start in range(0, specs, MOST_SPECS):
        stop = min(start + MOST_SPECS, specs)
        share = min(0.16, 0.68 / (stop - start))
        number, title = view.words.order_columns[:2]
        columns = [
            Column(number, 0.05, style=SMALL),
            Column(title, 0.95 - share * (stop - start), style=SMALL),
            *(Column(spec, share, style=SMALL) for spec in view.results.columns[start:stop]),
        ]
        rows = [
            (at, Cell(song, most=1), *(verdict or "" for verdict in verdicts[start:stop]))
            for at, song, verdicts in view.results.rows
        ]
        table(flow, columns, rows, pad=1.2)
    specs_in_short(flow, view)


def specs_in_short(flow: Flow, view: View) -> None:
    """Small print: what each spec is, and which edition of it was applied."""
    flow.skip(4)
    for part_table in view.parts:
        about = f"{part_table.title} ({part_table.judged_by}); {part_table.about}"
        flow.text(about, FINE, flow.sheet.left, flow.sheet.measure)
        for note in part_table.notes:
            flow.text(note, FINE, flow.sheet.left, flow.sheet.measure)


def joined(flow: Flow, view: View) -> None:
    """Files that hold a whole disc or side, with their checksums; those of single songs are on their pages."""
    for part_table in view.parts:
        if any(not row.position for row in part_table.rows):
            _joined(flow, view, part_table)


def _joined(flow: Flow, view: View, part_table: PartTable) -> None:
    rule_above(flow, part_table.title, HEADING, part_table.folder, keep=60.0)
    shares = (0.04, 0.32, 0.18, 0.11, 0.10, 0.10, 0.15)
    aligns = ("left", "left", "left", "right", "right", "right", "left")
    heads = (*view.words.parts_columns[:6], view.words.parts_columns[7])
    columns = [Column(head, share, align, SMALL) for head, share, align in zip(heads, shares, aligns, strict=True)]
    rows = [
        (
            row.number,
            Cell(row.file, path_style(SMALL)),
            row.format,
            typographic(str(row.length)),
            typographic(row.true_peak.number),
            typographic(row.loudness.number),
            row.verdict,
        )
        for row in part_table.rows
    ]
    table(flow, columns, rows)
    for row in part_table.rows:
        if row.sha256:
            flow.text(f"{row.file}   SHA-256\u00a0{row.sha256}", path_style(LABEL), flow.sheet.left, flow.sheet.measure)


def changes(flow: Flow, view: View) -> None:
    """Every change since an earlier delivery."""
    rule_above(flow, view.words.changes, HEADING, view.changed, keep=20, above=10)
    for line in view.changes:
        flow.text(typographic(line), SMALL, flow.sheet.left, flow.sheet.measure)
        flow.y += 1


def found(flow: Flow, view: View, groups: Groups, shown: int) -> None:
    """Items and questions that did not fit on page one; then the remarks, waivers, acceptances and the log.

    Parameters
    ----------
    shown : how many items page one holds
    """
    lines = groups.settle_lines
    settle, requested = lines[shown:], groups.questions[max(0, shown - len(lines)) :]
    if settle or requested or groups.remarks:
        rule_above(flow, view.words.notices, HEADING, view.tally, above=10)
        items(flow, view.words.to_settle, settle)
        items(flow, view.words.questions, requested)
        if groups.remarks:
            items(flow, view.words.remarks, groups.remarks, count=groups.remark_count)
    sentence(flow, view)


def sentence(flow: Flow, view: View) -> None:
    """Waivers, acceptances and the listening log."""
    if view.waived:
        rule_above(flow, view.words.waived, HEADING, above=10)
        waived(flow, view, view.waived)
    if view.accepted:
        rule_above(flow, view.words.accepted, HEADING, view.words.accepted_note, above=10)
        accepted(flow, view, view.accepted)
    if view.log:
        rule_above(flow, view.words.log, HEADING, above=10)
        log(flow, view, view.log)


def notices(flow: Flow, view: View, rows: Sequence[Notice], style: Style = SMALL) -> None:
    """Of one track, each rule and cause once: rule and result, text, and the place if there is one."""
    rows_once, heads = once(rows), view.words.notices_columns
    placed = any(notice.place for notice in rows_once)
    columns = [Column(heads[1], 0.30, style=style), Column(heads[2], 0.52 if placed else 0.70, style=style)]
    columns += [Column(heads[5], 0.18, style=style)] if placed else []
    row_texts = [
        (
            Cell(f"{notice.rule}: {notice.verdict.word} ({notice.bearing})", shape=notice.verdict.shape),
            typographic(sentence_of(notice)) + for_specs(view, notice),
            *((Cell(notice.place, path_style(style)),) if placed else ()),
        )
        for notice in rows_once
    ]
    table(flow, columns, row_texts, pad=ITEM_PAD)


def for_specs(view: View, notice: Notice) -> str:
    """Which specs reported it, where not all of them did."""
    if len(notice.specs) == len(view.routes) or not notice.specs:
        return ""
    return f" [{', '.join(notice.specs)}]"


def waived(flow: Flow, view: View, rows: Sequence[WaivedRow]) -> None:
    """Set the table of waivers."""
    shares = (0.08, 0.22, 0.20, 0.20, 0.30)
    heads = view.words.waived_columns
    columns = [Column(head, share, style=SMALL) for head, share in zip(heads, shares, strict=True)]
    table(flow, columns, [(row.track, row.what, row.specs, row.by, row.why) for row in rows], pad=1.8)


def method(flow: Flow, view: View) -> None:
    """Small print: what each figure is defined by, run together."""
    rows_once = " ".join(f"{fact.label}: {fact.value}" for fact in view.method)
    rule_above(flow, view.words.method, SUBTITLE, keep=30.0, above=10)
    flow.text(rows_once, FINE, flow.sheet.left, flow.sheet.measure, 60)
