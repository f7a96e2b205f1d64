"""The whole report as one value: every word and every rounded number that any output may print, and nothing else.

The data types of a page are in the module of that page; `make.view_of` fills them all.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from delivery.model.part import Delivery
from delivery.report.view.album import AlbumPicture, CarrierSheet
from delivery.report.view.answer import AnswerForm
from delivery.report.view.elements import Fact, Verdict
from delivery.report.view.finding_rows import AcceptedRow, LogRow, Notice, WaivedRow
from delivery.report.view.headings import Words
from delivery.report.view.part_rows import CarriedRow, PartTable, ResultTable, Route
from delivery.report.view.reference_page import ReferencePage
from delivery.report.view.track_page import TrackPage


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture to draw if it can be read, and the words for when it cannot."""

    path: Path | None
    text: str
    broken: str
    """What to print in its place when the file does not open."""


@dataclass(frozen=True, slots=True)
class OrderRow:
    """One track of the running order."""

    number: str
    """'3', or '2.3' for the third track of the second disc."""
    title: str
    """With its version in brackets."""
    artist: str
    isrc: str
    """With hyphens, as printed."""
    length: str
    gap: str


@dataclass(frozen=True, slots=True)
class OrderTable:
    """The running order, without columns that are empty for this release."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: frozenset[int]
    """Columns of numbers, from 0."""


@dataclass(frozen=True, slots=True)
class View:
    """A whole report. ``delivery`` is included for the data document only, which prints unrounded values."""

    title: str
    artist: str
    running: str
    """'Merrow & the Glass Tide: Harbour Arithmetic' for the head of each page."""
    revision: str
    """'revision 3'."""
    lang: str
    """BCP 47 tag of the release's language; 'en' when none is stated."""
    facts: tuple[Fact, ...]
    studio: tuple[str, ...]
    """Studio name, engineer, contact: one item a line."""
    logo: Picture
    artwork: Picture
    verdict: Verdict
    tally: str
    """'142 checks: 137 met, 1 waived, 2 not met, 1 to note, 1 not measured'."""
    routes: tuple[Route, ...]
    order: tuple[OrderRow, ...]
    order_total: str
    running_orders: tuple[str, ...]
    """Who receives which tracks; empty where every spec receives every track."""
    album: tuple[Fact, ...]
    parts: tuple[PartTable, ...]
    notices: tuple[Notice, ...]
    """All of them, release and tracks."""
    waived: tuple[WaivedRow, ...]
    tracks: tuple[TrackPage, ...]
    method: tuple[Fact, ...]
    caution: tuple[str, ...]
    approval: str
    """Who approved these masters, or why a stated name is not an approval of them; empty if nothing is stated."""
    approval_remedy: str
    """For the engineer, where a stated approval is none of these files; else empty. Not for papers."""
    remarks: tuple[str, ...]
    delivery: Delivery
    checksums: tuple[Fact, ...] = ()
    """Folder and name of every delivered file, and its SHA-256."""
    accepted: tuple[AcceptedRow, ...] = ()
    log: tuple[LogRow, ...] = ()
    together: tuple[AlbumPicture, ...] = ()
    """The album as one picture, for each set of tracks that specs receive; none for a single song."""
    carriers: tuple[CarrierSheet, ...] = ()
    words: Words = field(default_factory=Words)
    form: str = "whole"
    """Of the PDF sheet: 'whole', or 'summary' without the album's picture and the tracks' pages."""
    beside: ReferencePage | None = None
    """The release beside a reference playlist, a page of the PDF sheet; None where it was not requested."""
    total_size: str = ""
    """'60 files, 3.42 GB'; empty where nothing was written."""
    order_table: OrderTable = OrderTable((), (), frozenset())
    results: ResultTable = field(default_factory=ResultTable)
    carried: tuple[CarriedRow, ...] = ()
    """What became of the masters' own tags and chunks."""
    answer: AnswerForm | None = None
    """The form to approve with; None where there is nothing to approve."""
    changed: str = ""
    """How much differs from an earlier delivery, in one sentence; empty if none is known."""
    changes: tuple[str, ...] = ()
    """Each change, in a sentence."""
