"""The delivery sheet as PDF: vector plots, embedded fonts of any script, the same bytes every time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from io import BytesIO
from threading import Lock

from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas

from delivery.report.pdf import lists, single
from delivery.report.pdf.album import album_pages
from delivery.report.pdf.flow import Flow, Page
from delivery.report.pdf.fonts import FontBook
from delivery.report.pdf.front import approval, changes_shown, front
from delivery.report.pdf.look import HAIR, HAIRLINE, LABEL, SOFT, Sheet, sheet
from delivery.report.pdf.reference import reference_pages
from delivery.report.pdf.tracks import track_page
from delivery.report.pdf.type import Setter
from delivery.report.view.framed import Framed
from delivery.report.view.groups import Groups, groups_of
from delivery.report.view.make import View
from delivery.report.view.report import Report
from delivery.report.view.texts import words_of

SUMMARY = "summary"
_ONE_AT_A_TIME = Lock()
"""The PDF library keeps its fonts in one table for the whole process."""


def render(view: View, page: str = "A4") -> bytes:
    """The sheet on 'A4' or 'Letter' paper, whole or as a summary.

    Raises
    ------
    ValueError : no such paper
    Unfinished : the package with the sheet's font is not installed
    """
    paper = sheet(page)
    with _ONE_AT_A_TIME:
        setter = Setter(FontBook(words_of(view), view.lang))
        flow = _single(view, paper, setter) or (_summary if view.form == SUMMARY else _whole)(view, paper, setter)
        if view.beside:
            reference_pages(flow, view.beside)
        return _painted(flow.pages, view, paper, setter)


def _single(view: View, paper: Sheet, setter: Setter) -> Flow | None:
    """The form of one page, where one track goes to one recipient and everything fits on it."""
    if not single.fits(view):
        return None
    wider = replace(paper, top=paper.top - 8, bottom=paper.bottom - 9)
    for plots in single.SIZES:
        flow = Flow(wider, setter)
        single.single(flow, view, plots)
        if len(flow.pages) == 1:
            return flow
    return None


def _whole(view: View, paper: Sheet, setter: Setter) -> Flow:
    """Page one, the release as a whole on as few pages as hold it, and a page for each track."""
    flow, groups = Flow(paper, setter), groups_of(view.notices, view.remarks)
    shown = front(flow, view, groups)
    if len(view.tracks) == 1:
        _of_one_track(flow, view, groups, shown)
    else:
        approval(flow, view)
        _of_the_release(flow, view, groups, shown)
        album_pages(flow, view)
        lists.method(flow, view)
    size = 0
    for track in view.tracks:
        size = track_page(flow, view, track, size)
    return flow


def _of_one_track(flow: Flow, view: View, groups: Groups, shown: int) -> None:
    """The rest of page one; everything else is on the track's page."""
    if changes_shown(flow, view) < len(view.changes):
        lists.changes(flow, view)
    lists.specs_in_short(flow, view)
    lists.joined(flow, view)
    if len(groups.settle_lines) + len(groups.questions) > shown or groups.remarks or view.waived:
        lists.found(flow, view, groups, shown)
    lists.method(flow, view)
    approval(flow, view)


def _of_the_release(flow: Flow, view: View, groups: Groups, shown: int) -> None:
    flow.new_page()
    if changes_shown(flow, view) < len(view.changes):
        lists.changes(flow, view)
    lists.order(flow, view)
    lists.results(flow, view)
    lists.joined(flow, view)
    lists.found(flow, view, groups, shown)


def _summary(view: View, paper: Sheet, setter: Setter) -> Flow:
    """Page one and the release as a whole: no album picture, no tracks' pages."""
    flow, groups = Flow(paper, setter), groups_of(view.notices, view.remarks)
    shown = front(flow, view, groups)
    approval(flow, view)
    _of_the_release(flow, view, groups, shown)
    lists.method(flow, view)
    return flow


def paged(view: Framed, page: str, draw: Callable[[Flow], None]) -> bytes:
    """Another paper in the layout of the sheet; *draw* sets it, and ``view.words.sheet`` is its title. Raises as
    `render`."""
    paper = sheet(page)
    with _ONE_AT_A_TIME:
        setter = Setter(FontBook(words_of(view), view.lang))
        flow = Flow(paper, setter)
        draw(flow)
        return _painted(flow.pages, view, paper, setter)


def _painted(pages: list[Page], view: Framed, paper: Sheet, setter: Setter) -> bytes:
    rl_config.useA85 = 0  # printable characters for binary data: a quarter longer, and slow
    into = BytesIO()
    first = setter.line(" ", LABEL).runs[0].face.name
    canvas = Canvas(
        into,
        pagesize=(paper.width, paper.height),
        invariant=1,
        pageCompression=1,
        lang=view.lang,
        initialFontName=first,
        initialFontSize=LABEL.size,
    )
    canvas.setTitle(f"{view.words.sheet}: {view.running}, {view.revision}")
    canvas.setAuthor(", ".join(view.studio[:2]))
    canvas.setSubject(view.words.sheet)
    canvas.setCreator("delivery")
    for at, page in enumerate(pages, start=1):
        _running_head(canvas, view, paper, setter, at, len(pages))
        for mark in page.marks:
            mark(canvas)
        for title, depth in page.bookmarks:
            key = f"page-{at}"
            canvas.bookmarkPage(key)
            canvas.addOutlineEntry(title, key, depth)
        canvas.showPage()
    canvas.save()
    return into.getvalue()


def _running_head(canvas: Canvas, view: Framed, paper: Sheet, setter: Setter, at: int, of: int) -> None:
    counted = view.words.page.format(n=at, m=of)
    right = setter.line(f"{view.revision}   {counted}", LABEL)
    left = setter.fitted(view.running, LABEL, paper.measure - right.width - 24)
    y = paper.height - paper.head
    left.draw(canvas, paper.left, y)
    right.draw(canvas, paper.left + paper.measure - right.width, y)
    canvas.setStrokeColor(HAIR)
    canvas.setLineWidth(HAIRLINE)
    canvas.setDash([])
    canvas.line(paper.left, y - 5, paper.left + paper.measure, y - 5)
    foot = setter.fitted("  ".join(view.studio), LABEL.ink(SOFT), paper.measure)
    foot.draw(canvas, paper.left, 28)


REPORT = Report("sheet_pdf", "delivery-sheet.pdf", "the delivery sheet, for print", render, paged=True, own=True)
