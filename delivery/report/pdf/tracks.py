"""A page for each track: curves, figures, steps and notices. Then the method."""

from __future__ import annotations

from dataclasses import dataclass

from delivery.report.pdf import plots as pdf_plots
from delivery.report.pdf.flow import Flow
from delivery.report.pdf.log import accepted, log
from delivery.report.pdf.look import ACCENT, BODY, HEADING, LABEL, SMALL, SOFT, SUBTITLE, TRACK_TITLE
from delivery.report.pdf.summary import facts, notices, verdict, waived
from delivery.report.pdf.table import Column, rule_above, table
from delivery.report.view.model import Done, FigureTable, Spectrum, TrackPage, View
from delivery.report.view.words import typographic

SPLIT = 4
"""Columns of the grid that the spectrum takes beside many figures."""
MOST_COLUMNS = 5
"""Of figures side by side; further files stand in a table below."""


@dataclass(frozen=True)
class Plots:
    """Heights in points."""

    wave: float
    loudness: float
    spectrum: float


SIZES = (Plots(46, 78, 112), Plots(38, 62, 104), Plots(30, 46, 92), Plots(24, 34, 80), Plots(22, 28, 74))
"""The first with which a track's page holds all there is to say; the first of all where none does."""


def track_page(flow: Flow, view: View, page: TrackPage) -> None:
    flow.new_page()
    flow.bookmark(f"{page.number}  {page.title}")
    _track(flow, view, page, next((plots for plots in SIZES if _fits(flow, view, page, plots)), SIZES[0]))


def _fits(flow: Flow, view: View, page: TrackPage, plots: Plots) -> bool:
    trial = Flow(flow.sheet, flow.set)
    _track(trial, view, page, plots)
    return len(trial.pages) == 1


def _track(flow: Flow, view: View, page: TrackPage, plots: Plots) -> None:
    flow.on_new_page = lambda turned: _continued(turned, view, page)
    _head(flow, page)
    facts(flow, page.facts, 5, 3.0)
    curves(flow, view, page, plots)
    _figures(flow, view, page, plots.spectrum)
    _done(flow, view, page)
    if page.notices:
        rule_above(flow, view.words.notices, SUBTITLE)
        notices(flow, view, page.notices, with_track=False)
    if page.waived:
        rule_above(flow, view.words.waived, SUBTITLE)
        waived(flow, view, page.waived)
    if page.accepted:
        rule_above(flow, view.words.accepted, SUBTITLE)
        accepted(flow, view, page.accepted, with_track=False)
    if page.log:
        rule_above(flow, view.words.log, SUBTITLE)
        log(flow, view, page.log, with_track=False)
    flow.on_new_page = _no_head


def _no_head(_flow: Flow) -> None:
    """Pages outside the tracks begin with their text."""


def _continued(flow: Flow, view: View, page: TrackPage) -> None:
    says = f"{view.words.track} {page.number}, {view.words.continued}"
    flow.put(flow.set.line(says, LABEL), flow.sheet.left, flow.y)
    flow.y += 14


def _head(flow: Flow, page: TrackPage) -> None:
    sheet, top = flow.sheet, flow.y - 8
    number = flow.set.line(page.number, TRACK_TITLE.ink(ACCENT))
    left = sheet.left + max(number.width + 10, 34)
    flow.put(number, sheet.left, top + TRACK_TITLE.leading * 0.75)
    flow.y = top
    flow.text(page.title, TRACK_TITLE, left, sheet.left + sheet.span(9) - left, 4)
    flow.text(page.artist, BODY, left, sheet.left + sheet.span(9) - left, 2)
    foot = flow.y
    flow.y = top + 6
    verdict(flow, page.verdict, SUBTITLE, sheet.x(9), sheet.span(3))
    flow.y = max(foot, flow.y) + 8


def curves(flow: Flow, view: View, page: TrackPage, plots: Plots) -> None:
    """Waveform and loudness under their captions, or why there are none."""
    left, width = flow.sheet.left, flow.sheet.measure
    if page.waveform:
        limit = [page.waveform.ceiling.says] if page.waveform.ceiling else []
        _caption(flow, f"{view.words.waveform}, {page.pictured}", ", ".join([page.waveform.overs_says, *limit]))
        pdf_plots.waveform(flow, page.waveform, left, width, plots.wave)
        if page.waveform.overs:
            said = "   ".join(f"{over.number}: {over.says};" for over in page.waveform.overs).rstrip(";")
            flow.text(typographic(said), LABEL, left + pdf_plots.AXIS, width - pdf_plots.AXIS, 4)
    if page.loudness:
        curve = page.loudness
        marks = [mark.says for mark in (curve.window, curve.integrated, curve.loudest) if mark]
        _caption(flow, view.words.loudness, ", ".join(marks))
        pdf_plots.loudness(flow, page.loudness, left, width, plots.loudness)
    if page.no_picture:
        flow.skip(6)
        flow.text(page.no_picture, BODY, left, flow.sheet.span(9))


def _caption(flow: Flow, says: str, note: str) -> None:
    flow.skip(5)
    flow.y += LABEL.leading
    flow.put(flow.set.line(says, LABEL), flow.sheet.left, flow.y)
    flow.put(flow.set.line(typographic(note), LABEL), flow.sheet.left, flow.y, "right", flow.sheet.measure)


def _figures(flow: Flow, view: View, page: TrackPage, height: float) -> None:
    """Spectrum and figures side by side; more files than fit there have their columns over the whole width."""
    flow.skip(10)
    if page.figures and page.spectrum and len(page.figures.columns) <= MOST_COLUMNS:
        _side_by_side(flow, view, page.spectrum, page.figures, height)
        return
    if page.spectrum:
        flow.need(height + 40)
        spectrum_plot(flow, view, page.spectrum, flow.sheet.measure, height)
    if page.figures:
        _all_figures(flow, view, page.figures)


def _side_by_side(flow: Flow, view: View, spectrum: Spectrum, figures: FigureTable, height: float) -> None:
    columns = len(figures.columns)
    split = SPLIT if columns > 3 else 5
    left, width = flow.sheet.left, flow.sheet.span(split)
    notes = sum(flow.height(note, LABEL, width) + 3 for note in figures.notes)
    flow.need(max((len(figures.rows) + 3) * (SMALL.leading + 2), height + 44 + notes))
    top = flow.y
    spectrum_plot(flow, view, spectrum, width, height)
    for note in figures.notes:
        flow.y += 3
        flow.text(note, LABEL, left, width)
    foot, flow.y = flow.y, top
    wide = flow.sheet.span(12 - split if columns > 2 else 5) - 8
    _figure_table(flow, view, figures, 0, columns, flow.sheet.x(split) + 8, wide)
    flow.y = max(flow.y, foot)


def _all_figures(flow: Flow, view: View, figures: FigureTable) -> None:
    for start in range(0, len(figures.columns), MOST_COLUMNS):
        stop = min(start + MOST_COLUMNS, len(figures.columns))
        _figure_table(flow, view, figures, start, stop, flow.sheet.left, flow.sheet.measure)
        flow.y += 6
    for note in figures.notes:
        flow.text(note, LABEL, flow.sheet.left, flow.sheet.measure)


def spectrum_plot(flow: Flow, view: View, spectrum: Spectrum, width: float, height: float) -> None:
    """Third-octave levels at the left margin, under their caption."""
    _caption(flow, view.words.spectrum, "")
    flow.y += 4
    pdf_plots.spectrum(flow, spectrum, flow.sheet.left, width, height)
    if spectrum.highest:
        flow.text(typographic(spectrum.highest.says), LABEL, flow.sheet.left + pdf_plots.AXIS, width - pdf_plots.AXIS)


def _figure_table(
    flow: Flow, view: View, figures: FigureTable, start: int, stop: int, left: float, width: float
) -> None:
    label = {1: 0.62, 2: 0.44, 3: 0.37}.get(stop - start, 0.31)
    share = (1 - label) / (stop - start)
    columns = [Column(view.words.figures, label, style=SMALL)]
    columns += [Column(title, share, "right", SMALL) for title in figures.columns[start:stop]]
    rows = [
        (
            f"{row.label}, {row.unit}" if row.unit else row.label,
            *(typographic(cell) for cell in row.cells[start:stop]),
        )
        for row in figures.rows
    ]
    table(flow, columns, rows, x=left, width=width, pad=0.85)


def _done(flow: Flow, view: View, page: TrackPage) -> None:
    rule_above(flow, view.words.done, SUBTITLE, keep=40)
    for done in page.done:
        _one_done(flow, done)


def _one_done(flow: Flow, done: Done) -> None:
    """The spec's name in the left columns, what happened in the right ones."""
    left, width = flow.sheet.x(3), flow.sheet.span(9)
    lines = [typographic(line) for line in done.lines]
    height = SMALL.leading + sum(flow.height(line, SMALL, width) for line in lines)
    flow.need(min(height, 80))
    top = flow.y
    flow.text(done.title, SMALL, flow.sheet.left, flow.sheet.span(3), 4)
    foot = flow.y
    flow.y = top
    done_lines(flow, done, left, width)
    flow.y = max(foot, flow.y) + 4


def done_lines(flow: Flow, done: Done, left: float, width: float) -> None:
    """The proof or the steps, each with its reason."""
    flow.text(typographic(done.headline), SMALL.strong(), left, width)
    for line in done.lines:
        flow.text(typographic(line), SMALL, left, width)


def method(flow: Flow, view: View) -> None:
    """The last page's text: what each figure is defined by."""
    rule_above(flow, view.words.method, HEADING)
    for fact in view.method:
        height = max(
            flow.height(fact.label, SMALL, flow.sheet.span(4)), flow.height(fact.value, SMALL, flow.sheet.span(8))
        )
        flow.need(height)
        top = flow.y
        flow.text(fact.label, SMALL.ink(SOFT), flow.sheet.left, flow.sheet.span(4))
        foot = flow.y
        flow.y = top
        flow.text(fact.value, SMALL, flow.sheet.x(4), flow.sheet.span(8))
        flow.y = max(foot, flow.y) + 3
