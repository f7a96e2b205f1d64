"""A page for each track: curves, figures, steps and notices."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from delivery.report.pdf import plots as pdf_plots
from delivery.report.pdf.flow import Flow
from delivery.report.pdf.front import facts, verdict
from delivery.report.pdf.lists import notices, waived
from delivery.report.pdf.log import accepted, log
from delivery.report.pdf.look import ACCENT, BODY, LABEL, SMALL, SOFT, SUBTITLE, TRACK_TITLE
from delivery.report.pdf.table import Column, rule_above, table
from delivery.report.pdf.type import Style
from delivery.report.view.model import View
from delivery.report.view.plots import Spectrum
from delivery.report.view.track_page import Done, FigureTable, TrackPage
from delivery.report.view.words import typographic

SPLIT = 4
"""Columns of the grid that the spectrum takes beside many figures."""
MOST_COLUMNS = 6
"""Columns of figures; further files are listed in a table below."""
SIDE_BY_SIDE = 5
"""Columns of figures that fit beside the spectrum."""
WHITE_AT_FOOT = 12.0
"""More than the white that may follow the last line of a page and then reach below it."""
CLOSE, CLOSEST = Style(6.6, 8.5), Style(6.2, 7.8)
"""For very full pages."""


@dataclass(frozen=True)
class Plots:
    """Heights in points, and the type around them."""

    wave: float
    loudness: float
    spectrum: float
    style: Style = SMALL
    row_pad: float = 0.85
    """Above and below a row of figures."""

    @property
    def close(self) -> bool:
        """True if the plots are close together."""
        return self.style is not SMALL


SIZES = (
    Plots(46, 78, 112),
    Plots(38, 62, 104),
    Plots(30, 46, 92),
    Plots(24, 34, 80),
    Plots(22, 28, 70),
    Plots(30, 40, 80, CLOSE, 0.5),
    Plots(22, 28, 64, CLOSE, 0.5),
    Plots(18, 22, 48, CLOSE, 0.4),
    Plots(18, 20, 46, CLOSEST, 0.1),
)
"""The first size at which a track's page holds everything; the last if none does."""


def track_page(flow: Flow, view: View, page: TrackPage, guess: int = 0) -> int:
    """One page, whose plots fill the remaining height; returns the index of their size.

    Parameters
    ----------
    guess : where to begin to look: neighbours are alike, and most pages are then laid out once
    """
    made: dict[int, Flow] = {}

    def fits(at: int) -> bool:
        made[at] = _laid_out(flow, view, page, SIZES[at])
        return len(made[at].pages) == 1

    at, last = guess, len(SIZES) - 1
    if fits(at):
        while at > 0 and made[at].room + WHITE_AT_FOOT >= _taller_by(page, at) and fits(at - 1):
            at -= 1
    else:
        at = next((smaller for smaller in range(at + 1, last + 1) if fits(smaller)), last)
    flow.pages += made[at].pages
    flow.y = made[at].y
    return at


def _taller_by(page: TrackPage, at: int) -> float:
    """At least so much more height the page needs with plots of the next larger size; 0 where that is not known."""
    now, larger = SIZES[at], SIZES[at - 1]
    if now.style is not larger.style:
        return 0.0
    return (larger.wave - now.wave) * bool(page.waveform) + (larger.loudness - now.loudness) * bool(page.loudness)


def _laid_out(flow: Flow, view: View, page: TrackPage, plots: Plots) -> Flow:
    wider = replace(flow.sheet, top=flow.sheet.top - 8, bottom=flow.sheet.bottom - 8)
    made = Flow(wider if plots.close else flow.sheet, flow.set)
    made.bookmark(f"{page.number}  {page.title}")
    made.on_new_page = lambda turned: _continued(turned, view, page)
    _head(made, page)
    facts(made, page.facts, 5, 3.0, SMALL)
    curves(made, view, page, plots)
    _figures(made, view, page, plots)
    _done(made, view, page, plots.style)
    if page.notices:
        rule_above(made, view.words.notices, SUBTITLE, keep=30, above=8)
        notices(made, view, page.notices, plots.style)
    if page.waived:
        rule_above(made, view.words.waived, SUBTITLE, keep=30, above=8)
        waived(made, view, page.waived)
    if page.accepted:
        rule_above(made, view.words.accepted, SUBTITLE, keep=30, above=8)
        accepted(made, view, page.accepted, with_track=False)
    if page.log:
        rule_above(made, view.words.log, SUBTITLE, keep=30, above=8)
        log(made, view, page.log, with_track=False)
    return made


def _continued(flow: Flow, view: View, page: TrackPage) -> None:
    heading = f"{view.words.track} {page.number}, {view.words.continued}"
    flow.put(flow.set.line(heading, LABEL), flow.sheet.left, flow.y)
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
        limit = [page.waveform.ceiling.text] if page.waveform.ceiling else []
        _caption(flow, f"{view.words.waveform}, {page.pictured}", ", ".join([page.waveform.overs_text, *limit]))
        pdf_plots.waveform(flow, page.waveform, left, width, plots.wave)
        if page.waveform.overs:
            listed = "   ".join(f"{over.number}: {over.text};" for over in page.waveform.overs).rstrip(";")
            flow.text(typographic(listed), LABEL, left + pdf_plots.AXIS, width - pdf_plots.AXIS, 4)
    if page.loudness:
        curve = page.loudness
        marks = [mark.text for mark in (curve.window, curve.integrated, curve.loudest) if mark]
        _caption(flow, view.words.loudness, ", ".join(marks))
        pdf_plots.loudness(flow, page.loudness, left, width, plots.loudness)
    if page.no_picture:
        flow.skip(6)
        flow.text(page.no_picture, BODY, left, flow.sheet.span(9))


def _caption(flow: Flow, sentence: str, note: str) -> None:
    flow.skip(5)
    flow.y += LABEL.leading
    flow.put(flow.set.line(sentence, LABEL), flow.sheet.left, flow.y)
    flow.put(flow.set.line(typographic(note), LABEL), flow.sheet.left, flow.y, "right", flow.sheet.measure)


def _figures(flow: Flow, view: View, page: TrackPage, plots: Plots) -> None:
    """Spectrum and figures side by side; more files than fit there have their columns over the whole width."""
    flow.skip(8)
    if page.figures and page.spectrum and len(page.figures.columns) <= SIDE_BY_SIDE:
        _side_by_side(flow, view, page.spectrum, page.figures, plots)
        return
    if page.spectrum:
        flow.need(plots.spectrum + 40)
        spectrum_plot(flow, view, page.spectrum, flow.sheet.measure, plots.spectrum)
    if page.figures:
        _all_figures(flow, view, page.figures, plots)


def _side_by_side(flow: Flow, view: View, spectrum: Spectrum, figures: FigureTable, plots: Plots) -> None:
    columns = len(figures.columns)
    split = SPLIT if columns > 3 else 5
    left, width = flow.sheet.left, flow.sheet.span(split)
    notes = sum(flow.height(note, LABEL, width) + 3 for note in figures.notes)
    rows = (len(figures.rows) + 3) * (plots.style.leading + 2)
    flow.need(max(rows, plots.spectrum + 44 + notes))
    top = flow.y
    spectrum_plot(flow, view, spectrum, width, plots.spectrum)
    for note in figures.notes:
        flow.y += 3
        flow.text(note, LABEL, left, width)
    foot, flow.y = flow.y, top
    wide = flow.sheet.span(12 - split if columns > 2 else 5) - 8
    _figure_table(flow, view, figures, (0, columns), plots, flow.sheet.x(split) + 8, wide)
    flow.y = max(flow.y, foot)


def _all_figures(flow: Flow, view: View, figures: FigureTable, plots: Plots) -> None:
    for start in range(0, len(figures.columns), MOST_COLUMNS):
        stop = min(start + MOST_COLUMNS, len(figures.columns))
        _figure_table(flow, view, figures, (start, stop), plots, flow.sheet.left, flow.sheet.measure)
        flow.y += 6
    for note in figures.notes:
        flow.text(note, LABEL, flow.sheet.left, flow.sheet.measure)


def spectrum_plot(flow: Flow, view: View, spectrum: Spectrum, width: float, height: float) -> None:
    """Third-octave levels at the left margin, under their caption."""
    _caption(flow, view.words.spectrum, "")
    flow.y += 4
    pdf_plots.spectrum(flow, spectrum, flow.sheet.left, width, height)
    if spectrum.highest:
        flow.text(typographic(spectrum.highest.text), LABEL, flow.sheet.left + pdf_plots.AXIS, width - pdf_plots.AXIS)


def _figure_table(
    flow: Flow, view: View, figures: FigureTable, of: tuple[int, int], plots: Plots, left: float, width: float
) -> None:
    start, stop = of
    label = {1: 0.62, 2: 0.44, 3: 0.37, 6: 0.25}.get(stop - start, 0.31)
    share = (1 - label) / (stop - start)
    columns = [Column(view.words.figures, label, style=plots.style)]
    columns += [Column(title, share, "right", plots.style) for title in figures.columns[start:stop]]
    rows = [
        (
            f"{row.label}, {row.unit}" if row.unit else row.label,
            *(typographic(cell) for cell in row.cells[start:stop]),
        )
        for row in figures.rows
    ]
    table(flow, columns, rows, x=left, width=width, pad=plots.row_pad)


def _done(flow: Flow, view: View, page: TrackPage, style: Style) -> None:
    """Files with equal steps are grouped, each with its name and its whole checksum."""
    alike: dict[tuple[str, tuple[str, ...]], list[Done]] = {}
    for done in page.done:
        alike.setdefault((done.headline, done.lines), []).append(done)
    rule_above(flow, view.words.done, SUBTITLE, keep=40, above=8)
    for same in alike.values():
        _same_done(flow, same, style)


def _same_done(flow: Flow, same: Sequence[Done], style: Style) -> None:
    """The specs' names in the left columns, files and what happened in the right ones."""
    left, width = flow.sheet.x(3), flow.sheet.span(9)
    flow.need(min(80.0, style.leading * (len(same) + 1 + len(same[0].lines))))
    for at, done in enumerate(same):
        top = flow.y
        flow.text(done.title, style, flow.sheet.left, flow.sheet.span(3), 4)
        foot, flow.y = flow.y, top
        if done.file:
            flow.text(f"{done.file}   SHA-256\u00a0{done.sha256}", file_style(style), left, width)
        if at == len(same) - 1:
            done_lines(flow, done, left, width, style)
        flow.y = max(foot, flow.y)
    flow.y += 3


def file_style(style: Style) -> Style:
    """A name and its checksum: quiet, and left to right whatever the name begins with."""
    return Style(min(style.size, LABEL.size), style.leading, colour=SOFT, base=0)


def done_lines(flow: Flow, done: Done, left: float, width: float, style: Style = SMALL) -> None:
    """The proof or the steps, each with its reason."""
    flow.text(typographic(done.headline), style.strong(), left, width)
    for line in done.lines:
        flow.text(typographic(line), style, left, width)
