"""Page one: whose release it is, what goes where, what is needed before delivery, and the approval to sign."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate

from delivery.report.pdf import pictures, shapes
from delivery.report.pdf.flow import Flow
from delivery.report.pdf.lists import items, path_style
from delivery.report.pdf.look import ACCENT, BODY, GUTTER, HEADING, INK, LABEL, LEAD, RULE, SMALL, SOFT, SUBTITLE, TITLE
from delivery.report.pdf.table import Cell, Column, rule_above, table
from delivery.report.pdf.type import Style
from delivery.report.pictures import small
from delivery.report.view.elements import Fact, Verdict
from delivery.report.view.groups import Groups
from delivery.report.view.model import Picture, View
from delivery.report.view.words import typographic

ART = 3
"""Columns of the grid that the artwork takes."""
PAD = 12.0
"""Inside the approval's box."""
MOST_CHANGE_LINES = 8
"""Printed lines of changes on page one; a change is set whole or left to the next page."""
MOST_LINES = 200
"""Of one fact: nothing that was supplied is ever cut."""


def front(flow: Flow, view: View, groups: Groups) -> int:
    """Set page one; returns the number of items to settle and of questions that fit on it."""
    flow.bookmark(view.words.sheet)
    masthead(flow, view)
    _title(flow, view)
    facts(flow, view.facts, 5, 4.0)
    _routes(flow, view)
    _changes(flow, view)
    return _needed(flow, view, groups)


def masthead(flow: Flow, view: View) -> None:
    """Who sends it, and what this paper is."""
    sheet = flow.sheet
    logo = small(view.logo.path)
    if logo:
        _, height = pictures.draw(flow, logo, sheet.left, flow.y - 8, sheet.span(4), 34.0)
        flow.y += max(height - 8, 14.0)
    else:
        flow.put(flow.set.fitted(view.logo.text, SUBTITLE, sheet.span(8)), sheet.left, flow.y + 6)
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
    sentence = picture.text if data or not picture.path else picture.broken
    if data:
        flow.y = top + pictures.draw(flow, data, sheet.left, top, width, width)[1] + 2
    else:
        flow.y = top + 4
        flow.rule(sheet.left, width)
        flow.y += 2
    flow.text(sentence, LABEL, sheet.left, width, 6)
    return flow.y


def verdict(flow: Flow, result: Verdict, style: Style, x: float, width: float) -> None:
    """Draw shape and text of a result at the current position."""
    shift = shapes.width(style)
    baseline = flow.y + style.leading * 0.75
    shapes.shape(flow, result.shape, style, x, baseline)
    flow.text(str(result), style, x + shift, width - shift)


def facts(flow: Flow, stated: Sequence[Fact], across: int, gap: float = 5.0, style: Style = BODY) -> None:
    """Labels over values, row by row, in *across* columns of the grid; wide ones below, each in a line of its own."""
    columns = 12 / across
    width = flow.sheet.span(columns)
    long = [fact for fact in stated if fact.wide or flow.height(fact.value, style, width, 4) > 2 * style.leading]
    short = [fact for fact in stated if fact not in long]
    for start in range(0, len(short), across):
        row = short[start : start + across]
        height = LABEL.leading + max(flow.height(fact.value, style, width, 4) for fact in row)
        flow.need(height)
        top = flow.y
        for at, fact in enumerate(row):
            flow.y = top
            flow.text(fact.label, LABEL, flow.sheet.x(at * columns), width, 1)
            flow.text(fact.value, style, flow.sheet.x(at * columns), width, 2)
        flow.y = top + height + gap
    _wide_facts(flow, long, columns, gap, style)


def _wide_facts(flow: Flow, stated: Sequence[Fact], columns: float, gap: float, style: Style) -> None:
    """Label at the left, value beside it, broken only where the page is too narrow for it."""
    if not stated:
        return
    labels = max(flow.set.line(fact.label, LABEL).width for fact in stated)
    left = flow.sheet.x(columns * -(-(labels + GUTTER) // (flow.sheet.span(columns) + GUTTER)))
    width = flow.sheet.left + flow.sheet.measure - left
    for fact in stated:
        flow.need(min(flow.height(fact.value, style, width, MOST_LINES), 6 * style.leading))
        flow.put(flow.set.line(fact.label, LABEL), flow.sheet.left, flow.y + style.leading * 0.75)
        flow.text(fact.value, style, left, width, MOST_LINES)
    flow.y += gap


def _routes(flow: Flow, view: View) -> None:
    rule_above(flow, view.words.routes, HEADING, view.total_size, above=10.0)
    heads, sizes = view.words.routes_columns, any(route.size for route in view.routes)
    shares = (0.32, 0.20, 0.13, 0.10, 0.25) if sizes else (0.38, 0.22, 0.12, 0.28)
    heads = heads if sizes else (*heads[:3], heads[4])
    columns = [Column(head, share) for head, share in zip(heads, shares, strict=True)]
    rows = [
        (
            Cell(route.title + (f" ({route.note})" if route.note else "")),
            Cell(route.folder, path_style(BODY)),
            route.files,
            *((route.size,) if sizes else ()),
            route.verdict,
        )
        for route in view.routes
    ]
    table(flow, columns, rows, pad=2.0)


def _changes(flow: Flow, view: View) -> None:
    """What differs from an earlier delivery, as far as it fits on page one; the full list is on the next page."""
    if not view.changed:
        return
    rule_above(flow, view.words.changes, HEADING, view.changed, keep=20, above=10.0)
    shown = changes_shown(flow, view)
    for line in view.changes[:shown]:
        flow.text(typographic(line), SMALL, flow.sheet.left, flow.sheet.measure, MOST_LINES)
    if shown < len(view.changes):
        more = view.words.more_changes.format(n=len(view.changes) - shown)
        flow.text(more, SMALL.ink(SOFT), flow.sheet.left, flow.sheet.measure)


def changes_shown(flow: Flow, view: View) -> int:
    """How many changes page one has room for, with a line that counts the others if not for all."""
    heights = [flow.height(typographic(line), SMALL, flow.sheet.measure, MOST_LINES) for line in view.changes]
    room = MOST_CHANGE_LINES * SMALL.leading
    if sum(heights) <= room:
        return len(heights)
    return sum(used <= room - SMALL.leading for used in accumulate(heights))


def _needed(flow: Flow, view: View, groups: Groups) -> int:
    """Items to settle and questions for the client, as far as they fit above the approval."""
    rule_above(flow, view.words.needed, HEADING, view.words.needed_note, keep=20, above=10.0)
    if not groups.to_settle and not groups.questions:
        flow.text(view.words.nothing_needed, BODY, flow.sheet.left, flow.sheet.measure)
        return 0
    floor = flow.sheet.floor - approval_height(flow, view) - SMALL.leading - 14
    shown = items(flow, view.words.to_settle, groups.settle_lines, floor, count=len(groups.to_settle))
    if shown == len(groups.settle_lines):
        shown += items(flow, view.words.questions, groups.questions, floor)
    more = len(groups.settle_lines) + len(groups.questions) - shown
    if more:
        flow.y += 2
        sentence = view.words.more_needed.format(n=more)
        flow.text(sentence, SMALL.ink(SOFT), flow.sheet.left, flow.sheet.measure)
    return shown


def _box_texts(view: View) -> list[tuple[str, Style]]:
    stated = [(view.approval, BODY)] if view.approval else []
    return [(" ".join(view.caution), LABEL), *stated, (view.words.approval_text, BODY)]


def approval_height(flow: Flow, view: View) -> float:
    """Of the box, with the white above it."""
    width = flow.sheet.measure - 2 * PAD
    texts = sum(flow.height(text, style, width, MOST_LINES) + 4 for text, style in _box_texts(view))
    return texts + PAD + HEADING.leading * 0.6 + 4 + 26 + 18 + 12


def approval(flow: Flow, view: View) -> None:
    """A box at the page's foot: what the paper cannot promise, and a line each for name, date and signature."""
    sheet, height = flow.sheet, approval_height(flow, view)
    left, width = sheet.left + PAD, sheet.measure - 2 * PAD
    flow.need(height)
    flow.y = max(flow.y, sheet.floor - height) + 12
    top = flow.y
    flow.y += PAD + HEADING.leading * 0.6
    flow.put(flow.set.line(view.words.approval, HEADING), left, flow.y)
    flow.put(flow.set.line(view.revision, LABEL), left, flow.y, "right", width)
    flow.y += 4
    for text, style in _box_texts(view):
        flow.y += 4
        flow.text(text, style, left, width, MOST_LINES)
    to_sign(flow, view, left, width, 26)
    flow.y += 18
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
