"""The page of the sheet that sets a release beside a reference playlist."""

from __future__ import annotations

from delivery.report.pdf.flow import Flow
from delivery.report.pdf.look import ACCENT, BODY, HEADING, INK, LABEL, LEAD, SMALL, SOFT, SUBTITLE, TINT
from delivery.report.pdf.plots import AXIS, Frame
from delivery.report.pdf.table import Column, rule_above, table
from delivery.report.view.plots import Tick
from delivery.report.view.reference_page import SONG_COLUMNS, TITLE, BandPoint, ReferencePage, level_marks
from delivery.report.view.words import typographic

SHARES = (0.30, 0.13, 0.13, 0.22, 0.22)
SONG_SHARES = (0.27, 0.09, 0.64)
PLOT_HEIGHT = 120.0
EVERY_BAND = 3
"""Every third third-octave is named below the plot."""
LEGEND = (
    "Third octaves at matched loudness, less the median of the playlist, in dB. Shaded: its middle half, 25 to 75 %."
)


def reference_pages(flow: Flow, page: ReferencePage) -> None:
    """A page of its own; the songs of a long album may run over to the next."""
    flow.new_page()
    left, measure = flow.sheet.left, flow.sheet.measure
    flow.bookmark(TITLE)
    rule_above(flow, TITLE, HEADING, typographic(page.against))
    flow.y += 4
    flow.text(page.title, SUBTITLE, left, measure, 2)
    flow.text(typographic(" ".join(page.opening)), LEAD, left, measure)
    flow.y += 8
    columns = [
        Column(head, share, "right" if at else "left", BODY)
        for at, (head, share) in enumerate(zip(page.columns, SHARES, strict=True))
    ]
    table(flow, columns, [tuple(map(typographic, row)) for row in page.rows])
    if page.bands:
        _bands(flow, page.bands)
    if page.songs:
        heads = zip(SONG_COLUMNS, SONG_SHARES, ("left", "right", "left"), strict=True)
        flow.skip(12)
        table(flow, [Column(*head, SMALL) for head in heads], [tuple(map(typographic, row)) for row in page.songs])
    flow.skip(12)
    for caution in page.cautions:
        flow.text(typographic(caution), SMALL.ink(SOFT), left, measure)
        flow.y += 2


def _bands(flow: Flow, bands: tuple[BandPoint, ...]) -> None:
    """The song as a line over the middle half of the playlist, at the pen; the pen moves below."""
    flow.skip(14)
    flow.need(PLOT_HEIGHT + 34)
    flow.text(LEGEND, LABEL, flow.sheet.left, flow.sheet.measure)
    reach, marks = level_marks(bands)
    frame = Frame(flow, flow.sheet.left + AXIS, flow.y + 6, flow.sheet.measure - AXIS, PLOT_HEIGHT, -reach, reach)
    across = [frame.x(at / (len(bands) - 1)) for at in range(len(bands))]
    upper = [(x, frame.y(band.q75)) for x, band in zip(across, bands, strict=True)]
    lower = [(x, frame.y(band.q25)) for x, band in zip(across, bands, strict=True)]
    flow.area([*upper, *reversed(lower)], TINT)
    frame.levels([Tick(db, f"{db:+d}" if db else "0") for db in marks])
    flow.stroke([(frame.left, frame.y(0)), (frame.left + frame.width, frame.y(0))], 0.5, INK)
    flow.stroke([(x, frame.y(band.song)) for x, band in zip(across, bands, strict=True)], 1.2, ACCENT)
    for x, band in list(zip(across, bands, strict=True))[::EVERY_BAND]:
        frame.label(band.name, x - 20, frame.foot + 10, "centre", 40)
    flow.y = frame.foot + 14
