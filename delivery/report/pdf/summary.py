"""The first pages: release, routes, running order, parts, notices and signature."""

from __future__ import annotations

from collections.abc import Sequence

from delivery.report.pdf import pictures, shapes
from delivery.report.pdf.flow import Flow
from delivery.report.pdf.log import accepted, log
from delivery.report.pdf.look import ACCENT, BODY, GUTTER, HEADING, INK, LABEL, LEAD, RULE, SMALL, SOFT, SUBTITLE, TITLE
from delivery.report.pdf.table import Cell, Column, rule_above, table
from delivery.report.pdf.type import Style
from delivery.report.pictures import small
from delivery.report.view.elements import Fact, Verdict
from delivery.report.view.model import Notice, PartTable, Picture, View, WaivedRow
from delivery.report.view.notices import by_words
from delivery.report.view.words import typographic

ART = 3
"""Columns of the grid that the artwork takes."""


def summary(flow: Flow, view: View) -> None:
    flow.bookmark(view.words.sheet)
    masthead(flow, view)
    _title(flow, view)
    facts(flow, view.facts, 4)
    _routes(flow, view)
    _order(flow, view)
    for part_table in view.parts:
        _parts(flow, view, part_table)
    _all_notices(flow, view)
    _remarks(flow, view)
    _checksums(flow, view)
    _approval(flow, view)


def masthead(flow: Flow, view: View) -> None:
    """The studio and the title of the paper."""
    sheet = flow.sheet
    logo = small(view.logo.path)
    if logo:
        _, height = pictures.draw(flow, logo, sheet.left, flow.y - 8, sheet.span(4), 34.0)
        flow.y += max(height - 8, 14.0)
    else:
        flow.put(flow.set.fitted(view.logo.says, SUBTITLE, sheet.span(8)), sheet.left, flow.y + 6)
        flow.y += 14.0
        if view.logo.path:
            flow.text(view.logo.broken, LABEL, sheet.left, sheet.span(8))
    name = flow.set.line(view.words.sheet, SUBTITLE.ink(ACCENT))
    flow.put(name, sheet.left, sheet.top + 6, "right", sheet.measure)
    flow.y += 20.0


def _title(flow: Flow, view: View) -> None:
    sheet, top = flow.sheet, flow.y
    art_foot = _picture(flow, view.artwork, top)
    left, width = sheet.x(ART) + 2, sheet.span(12 - ART) - 2
    flow.y = top - 6
    flow.text(view.title, TITLE, left, width, 5)
    flow.y += 3
    flow.text(view.artist, LEAD, left, width, 3)
    flow.y += 9
    verdict(flow, view.verdict, SUBTITLE, left, width)
    flow.text(view.tally, SMALL.ink(SOFT), left, width)
    flow.y = max(flow.y, art_foot) + 13


def _picture(flow: Flow, picture: Picture, top: float) -> float:
    """The artwork with its size in words beneath, or the words alone; gives the foot of it all."""
    sheet = flow.sheet
    width = sheet.span(ART) - 14
    data = small(picture.path)
    says = picture.says if data or not picture.path else picture.broken
    if data:
        flow.y = top + pictures.draw(flow, data, sheet.left, top, width, width)[1] + 2
    else:
        flow.y = top + 4
        flow.rule(sheet.left, width)
        flow.y += 2
    flow.text(says, LABEL, sheet.left, width, 6)
    return flow.y


def verdict(flow: Flow, said: Verdict, style: Style, x: float, width: float) -> None:
    """Shape and words of a result at the pen."""
    shift = shapes.width(style)
    baseline = flow.y + style.leading * 0.75
    shapes.shape(flow, said.shape, style, x, baseline)
    flow.text(str(said), style, x + shift, width - shift)


def facts(flow: Flow, stated: Sequence[Fact], across: int, gap: float = 5.0, style: Style = BODY) -> None:
    """Labels over values, row by row, in *across* columns of the grid; wide ones below, each in a line of its own."""
    columns = 12 / across
    width = flow.sheet.span(columns)
    short = [fact for fact in stated if not fact.wide]
    for start in range(0, len(short), across):
        row = short[start : start + across]
        height = LABEL.leading + max(flow.height(fact.value, style, width, 4) for fact in row)
        flow.need(height)
        top = flow.y
        for at, fact in enumerate(row):
            flow.y = top
            flow.text(fact.label, LABEL, flow.sheet.x(at * columns), width, 1)
            flow.text(fact.value, style, flow.sheet.x(at * columns), width, 4)
        flow.y = top + height + gap
    _wide_facts(flow, [fact for fact in stated if fact.wide], columns, gap, style)


def _wide_facts(flow: Flow, stated: Sequence[Fact], columns: float, gap: float, style: Style) -> None:
    """Label at the left, value beside it, broken only where the page is too narrow for it."""
    if not stated:
        return
    labels = max(flow.set.line(fact.label, LABEL).width for fact in stated)
    left = flow.sheet.x(columns * -(-(labels + GUTTER) // (flow.sheet.span(columns) + GUTTER)))
    width = flow.sheet.left + flow.sheet.measure - left
    for fact in stated:
        flow.need(flow.height(fact.value, style, width))
        flow.put(flow.set.line(fact.label, LABEL), flow.sheet.left, flow.y + style.leading * 0.75)
        flow.text(fact.value, style, left, width)
    flow.y += gap


def _routes(flow: Flow, view: View) -> None:
    rule_above(flow, view.words.routes, HEADING)
    heads = view.words.routes_columns
    columns = [Column(head, share) for head, share in zip(heads, (0.35, 0.23, 0.13, 0.29), strict=True)]
    rows = [
        (
            Cell(route.title + (f" ({route.note})" if route.note else "")),
            Cell(route.folder, _path(BODY)),
            route.files,
            route.verdict,
        )
        for route in view.routes
    ]
    table(flow, columns, rows)


def _path(style: Style) -> Style:
    """Folders and file names read left to right whatever they begin with."""
    return Style(style.size, style.leading, style.weight, style.colour, base=0)


def programme_totals(view: View) -> str:
    """How long the album is, and how loud as one programme."""
    album = ", ".join(f"{fact.label[0].lower()}{fact.label[1:]} {fact.value}" for fact in view.album)
    return "; ".join(text for text in (view.order_total, album and f"{view.words.album}: {album}") if text)


def _order(flow: Flow, view: View) -> None:
    rule_above(flow, view.words.order, HEADING, typographic(programme_totals(view)))
    shares = (0.05, 0.37, 0.22, 0.16, 0.11, 0.09)
    aligns = ("left", "left", "left", "left", "right", "right")
    heads = view.words.order_columns
    columns = [Column(head, share, align) for head, share, align in zip(heads, shares, aligns, strict=True)]
    table(flow, columns, [(r.number, r.title, r.artist, r.isrc, r.length, r.gap) for r in view.order])
    flow.y += 4 if view.running_orders else 0
    for text in view.running_orders:
        flow.text(typographic(text), SMALL, flow.sheet.left, flow.sheet.measure)
        flow.y += 2


def _parts(flow: Flow, view: View, part_table: PartTable) -> None:
    rule_above(flow, part_table.title, HEADING, part_table.folder, keep=96.0)
    flow.text(part_table.about, BODY, flow.sheet.left, flow.sheet.span(10), 4)
    flow.text(part_table.judged_by, LABEL, flow.sheet.left, flow.sheet.measure)
    for note in part_table.notes:
        flow.text(note, SMALL, flow.sheet.left, flow.sheet.measure)
    flow.y += 4
    shares = (0.04, 0.24, 0.18, 0.09, 0.09, 0.09, 0.10, 0.17)
    aligns = ("left", "left", "left", "right", "right", "right", "left", "left")
    heads = view.words.parts_columns
    columns = [Column(head, share, align, SMALL) for head, share, align in zip(heads, shares, aligns, strict=True)]
    rows = [
        (
            row.number,
            Cell(row.file, _path(SMALL)),
            row.format,
            typographic(str(row.length)),
            typographic(row.true_peak.number),
            typographic(row.loudness.number),
            row.checksum,
            row.verdict,
        )
        for row in part_table.rows
    ]
    table(flow, columns, rows)


def _all_notices(flow: Flow, view: View) -> None:
    if view.notices:
        rule_above(flow, view.words.notices, HEADING, view.tally)
        notices(flow, view, by_words(view.notices))
    else:
        rule_above(flow, view.words.notices, HEADING, view.words.no_notices, keep=0)
    if view.waived:
        rule_above(flow, view.words.waived, HEADING)
        waived(flow, view, view.waived)
    if view.accepted:
        rule_above(flow, view.words.accepted, HEADING, view.words.accepted_note)
        accepted(flow, view, view.accepted)
    if view.log:
        rule_above(flow, view.words.log, HEADING)
        log(flow, view, view.log)


def notices(flow: Flow, view: View, said: Sequence[Notice], *, with_track: bool = True) -> None:
    """Rule and its bearing; found against wanted; the remedy or the reason; the place."""
    shares = (0.07, 0.24, 0.15, 0.16, 0.22, 0.16) if with_track else (0.25, 0.15, 0.17, 0.24, 0.19)
    heads = view.words.notices_columns if with_track else view.words.notices_columns[1:]
    columns = [Column(head, share, style=SMALL) for head, share in zip(heads, shares, strict=True)]
    rows = [
        (
            *((notice.track,) if with_track else ()),
            Cell(f"{notice.rule}: {notice.verdict.word} ({notice.bearing})", shape=notice.verdict.shape),
            *_found_and_remedy(view, notice),
            Cell(notice.place, _path(SMALL)),
        )
        for notice in said
    ]
    table(flow, columns, rows)


def _found_and_remedy(view: View, notice: Notice) -> tuple[str | Cell, str, str]:
    """Found, wanted, remedy; what stands alone has the room of all three."""
    remedy, asked = typographic(notice.remedy or notice.why), _for_specs(view, notice)
    if notice.wanted or remedy:
        return typographic(notice.found), typographic(notice.wanted), (remedy + asked).strip()
    return Cell((typographic(notice.found) + asked).strip(), span=3), "", ""


def _for_specs(view: View, notice: Notice) -> str:
    """The specs that gave the notice, unless all did."""
    if len(notice.specs) == len(view.routes) or not notice.specs:
        return ""
    return f" [{', '.join(notice.specs)}]"


def waived(flow: Flow, view: View, rows: Sequence[WaivedRow]) -> None:
    shares = (0.08, 0.22, 0.20, 0.20, 0.30)
    heads = view.words.waived_columns
    columns = [Column(head, share, style=SMALL) for head, share in zip(heads, shares, strict=True)]
    table(flow, columns, [(row.track, row.what, row.specs, row.by, row.why) for row in rows])


def _remarks(flow: Flow, view: View) -> None:
    if view.remarks:
        rule_above(flow, view.words.remarks, HEADING, keep=BODY.leading)
        for remark in view.remarks:
            flow.text(remark, BODY, flow.sheet.left, flow.sheet.span(10))
            flow.y += 2


def _checksums(flow: Flow, view: View) -> None:
    if view.checksums:
        rule_above(flow, view.words.checksums, HEADING, view.words.checksums_says)
        heads = zip(view.words.checksums_columns, (0.45, 0.55), strict=True)
        columns = [Column(head, share, style=_path(SMALL)) for head, share in heads]
        table(flow, columns, [(fact.label, fact.value) for fact in view.checksums])


def _approval(flow: Flow, view: View) -> None:
    """A box with cautions, and a line each for name, date and signature."""
    sheet, pad = flow.sheet, 12.0
    left, width = sheet.left + pad, sheet.measure - 2 * pad
    stated = [(view.approval, BODY)] if view.approval else []
    texts = [(text, SMALL) for text in view.caution] + stated + [(view.words.approval_says, BODY)]
    flow.skip(15)
    flow.need(sum(flow.height(text, style, width) + 2 for text, style in texts) + 76)
    top = flow.y
    flow.y += pad + HEADING.leading * 0.6
    flow.put(flow.set.line(view.words.approval, HEADING), left, flow.y)
    flow.put(flow.set.line(view.revision, LABEL), left, flow.y, "right", width)
    flow.y += 6
    for text, style in texts:
        flow.y += 4 if style is BODY else 0
        flow.text(text, style, left, width)
        flow.y += 1
    to_sign(flow, view, left, width, 28)
    flow.y += 20
    right, edge = sheet.left + sheet.measure, sheet.left
    flow.stroke([(edge, top), (right, top), (right, flow.y), (edge, flow.y), (edge, top)], RULE, INK)


def to_sign(flow: Flow, view: View, left: float, width: float, height: float) -> None:
    """A line each for name, date and signature, with *height* above it to write in."""
    flow.y += height
    third = (width + GUTTER) / 3
    for at, label in enumerate(view.words.approval_lines):
        x, wide = left + at * third, third - GUTTER
        flow.stroke([(x, flow.y), (x + wide, flow.y)], RULE / 2, SOFT)
        flow.put(flow.set.line(label, LABEL), x, flow.y + 10)
