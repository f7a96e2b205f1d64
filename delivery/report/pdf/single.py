"""A page for one track and one recipient: the content of the long form in a denser layout."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from delivery.report.pdf import pictures
from delivery.report.pdf.flow import Flow
from delivery.report.pdf.front import facts, masthead, to_sign, verdict
from delivery.report.pdf.lists import notices, waived
from delivery.report.pdf.log import accepted, log
from delivery.report.pdf.look import FINE, GUTTER, INK, LABEL, LEAD, RULE, SMALL, SUBTITLE, TRACK_TITLE
from delivery.report.pdf.table import Column, rule_above, table
from delivery.report.pdf.tracks import SPLIT, Plots, curves, done_lines, spectrum_plot
from delivery.report.pictures import small
from delivery.report.view.elements import Fact
from delivery.report.view.facts import gathered
from delivery.report.view.model import View
from delivery.report.view.part_rows import PartTable
from delivery.report.view.track_page import FigureTable, TrackPage
from delivery.report.view.words import typographic

ART = 60.0
"""Side of the artwork, in points."""
TIGHT = 6.0
"""White above a section's rule."""
LEFT_OUT = frozenset({"Studio", "Engineer", "Contact", "Program", "Revision"})
"""Facts already printed in the masthead, the head or the foot of the page."""


def fits(view: View) -> bool:
    """Whether the short form is worth a try; if it comes out longer than a page, the long form is clearer."""
    return len(view.tracks) == 1 and len(view.parts) == 1


SIZES = (
    Plots(48, 92, 100),
    Plots(38, 66, 82),
    Plots(32, 54, 76),
    Plots(28, 44, 70),
    Plots(22, 34, 58),
    Plots(18, 24, 52),
    Plots(16, 20, 46),
)
"""From roomy to the smallest that can still be read; the first with which all fits is taken."""


def single(flow: Flow, view: View, plots: Plots) -> None:
    """Set the form; the flow then has more than one page where it does not fit."""
    page, part_table = view.tracks[0], view.parts[0]
    flow.bookmark(view.words.sheet)
    masthead(flow, view)
    _title(flow, view, page)
    facts(flow, _facts(view, page), 6, 2.0, SMALL)
    _part(flow, view, part_table)
    curves(flow, view, page, plots)
    _figures(flow, view, page, plots.spectrum)
    _said(flow, view, page)
    _approval(flow, view)
    _method(flow, view)


def _title(flow: Flow, view: View, page: TrackPage) -> None:
    """Title and artist beside the cover; the result at the right."""
    sheet, top = flow.sheet, flow.y - 8
    data = small(view.artwork.path)
    left, foot = sheet.left, top
    if data:
        across, down = pictures.draw(flow, data, sheet.left, top, ART, ART)
        left, foot = sheet.left + across + GUTTER + 4, top + down
    flow.y = top - 4
    flow.text(page.title, TRACK_TITLE, left, sheet.x(8) - GUTTER - left, 3)
    flow.text(page.artist, LEAD, left, sheet.x(8) - GUTTER - left, 2)
    sentence = view.artwork.text if data or not view.artwork.path else view.artwork.broken
    flow.text(sentence, LABEL, left, sheet.x(8) - GUTTER - left, 2)
    foot, flow.y = max(foot, flow.y), top
    verdict(flow, view.verdict, SUBTITLE, sheet.x(8), sheet.span(4))
    flow.text(view.tally, LABEL, sheet.x(8), sheet.span(4), 2)
    flow.y = max(flow.y, foot) + 6


def _facts(view: View, page: TrackPage) -> tuple[Fact, ...]:
    """The release's and the track's together; the release's title only where the track has another."""
    own = [Fact("Release", view.title)] if view.title != page.title else []
    shipped = (Fact("SHA-256 as delivered", fact.value, wide=True, code=True) for fact in view.checksums)
    return gathered((*own, *(fact for fact in view.facts if fact.label not in LEFT_OUT), *page.facts, *shipped))


def _part(flow: Flow, view: View, part_table: PartTable) -> None:
    heading, note = (
        f"{view.words.routes}: {part_table.title}",
        "; ".join(text for text in (view.total_size, part_table.folder, part_table.judged_by) if text),
    )
    rule_above(flow, heading, SUBTITLE, note, keep=20, above=TIGHT)
    shares = (0.34, 0.17, 0.10, 0.10, 0.10, 0.09, 0.10)
    aligns = ("left", "left", "right", "right", "right", "left", "left")
    heads = view.words.parts_columns[1:]
    columns = [Column(head, share, align, SMALL) for head, share, align in zip(heads, shares, aligns, strict=True)]
    rows = [
        (
            row.file,
            row.format,
            typographic(str(row.length)),
            typographic(row.true_peak.number),
            typographic(row.loudness.number),
            row.checksum,
            row.verdict,
        )
        for row in part_table.rows
    ]
    table(flow, columns, rows, pad=1.6)
    for note in part_table.notes:
        flow.text(note, LABEL, flow.sheet.left, flow.sheet.measure)


def _figures(flow: Flow, view: View, page: TrackPage, height: float) -> None:
    """The spectrum, and the figures in two halves beside it."""
    flow.skip(4)
    top, foot = flow.y, flow.y
    if page.spectrum:
        spectrum_plot(flow, view, page.spectrum, flow.sheet.span(SPLIT), height)
        foot = flow.y
    if page.figures:
        rows = page.figures.rows
        half = -(-len(rows) // 2)
        wide = flow.sheet.span((12 - SPLIT) / 2) - 4
        for at, start in enumerate((0, half)):
            flow.y = top + 2
            some = FigureTable(page.figures.columns, rows[start : start + half])
            _half(flow, view, some, flow.sheet.x(SPLIT + at * (12 - SPLIT) / 2) + 4, wide)
            foot = max(foot, flow.y)
        flow.y = foot + 2
        for note in page.figures.notes:
            flow.text(note, LABEL, flow.sheet.left, flow.sheet.measure)
    flow.y = max(flow.y, foot)


def _half(flow: Flow, view: View, figures: FigureTable, left: float, width: float) -> None:
    heads = view.words.single_columns[-len(figures.columns) :] if len(figures.columns) == 2 else figures.columns
    share = 0.5 / len(heads)
    columns = [Column(view.words.figures, 0.5, style=SMALL)]
    columns += [Column(head, share, "right", SMALL) for head in heads]
    rows = [
        (f"{row.label}, {row.unit}" if row.unit else row.label, *(typographic(cell) for cell in row.cells))
        for row in figures.rows
    ]
    table(flow, columns, rows, x=left, width=width, pad=0.3)


def _said(flow: Flow, view: View, page: TrackPage) -> None:
    """What was done; what is not met, waived or accepted, and the QC log: of the track and of the release alike."""
    rule_above(flow, view.words.done, SUBTITLE, keep=20, above=TIGHT)
    for done in page.done:
        done_lines(flow, done, flow.sheet.left, flow.sheet.measure)
    sections: tuple[tuple[str, Callable[..., None], Sequence[object]], ...] = (
        (view.words.notices, notices, view.notices),
        (view.words.waived, waived, view.waived),
        (view.words.accepted, accepted, view.accepted),
        (view.words.log, log, view.log),
    )
    for heading, drawn, rows in sections:
        if rows:
            rule_above(flow, heading, SUBTITLE, keep=30, above=TIGHT)
            drawn(flow, view, rows)
    if view.changed:
        rule_above(flow, view.words.changes, SUBTITLE, view.changed, keep=20, above=TIGHT)
        for line in view.changes:
            flow.text(typographic(line), SMALL, flow.sheet.left, flow.sheet.measure)
    for remark in view.remarks:
        flow.y += 3
        flow.text(f"{view.words.remarks}: {remark}", SMALL, flow.sheet.left, flow.sheet.measure)


def _approval(flow: Flow, view: View) -> None:
    """The box, with its cautions run together."""
    sheet, pad = flow.sheet, 7.0
    left, width = sheet.left + pad, sheet.measure - 2 * pad
    caution = " ".join(view.caution)
    flow.skip(7)
    flow.need(flow.height(caution, LABEL, width) + flow.height(view.approval, SMALL, width) + 70)
    top = flow.y
    flow.y += pad + SUBTITLE.leading * 0.5
    title = flow.set.line(view.words.approval, SUBTITLE)
    flow.put(title, left, flow.y)
    sentence = flow.set.fitted(view.words.approval_text, SMALL, width - title.width - GUTTER)
    flow.put(sentence, left, flow.y, "right", width)
    flow.y += 3
    if view.approval:
        flow.text(view.approval, SMALL, left, width)
        flow.y += 2
    flow.text(caution, LABEL, left, width)
    to_sign(flow, view, left, width, 17)
    flow.y += 14
    right, edge = sheet.left + sheet.measure, sheet.left
    flow.stroke([(edge, top), (right, top), (right, flow.y), (edge, flow.y), (edge, top)], RULE, INK)


def _method(flow: Flow, view: View) -> None:
    """Small print: what each figure is defined by, run together."""
    flow.skip(4)
    sentence = " ".join(f"{fact.label}: {fact.value}" for fact in view.method)
    flow.text(f"{view.words.method}. {sentence}", FINE, flow.sheet.left, flow.sheet.measure)
