"""Data types of a report: every word and every rounded number that any output may print, and nothing else."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from delivery.model.part import Delivery
from delivery.report.view.album import AlbumPicture, CarrierSheet
from delivery.report.view.answer import AnswerForm
from delivery.report.view.elements import Amount as Amount
from delivery.report.view.elements import Fact, Verdict
from delivery.report.view.headings import Words
from delivery.report.view.reference_page import ReferencePage


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture to draw if it can be read, and the words for when it cannot."""

    path: Path | None
    text: str
    broken: str
    """What to print in its place when the file does not open."""


@dataclass(frozen=True, slots=True)
class Route:
    """One line of *what goes where*."""

    spec: str
    title: str
    folder: str
    files: str
    """'12 files'."""
    verdict: Verdict
    note: str = ""
    """'reference, not for release'."""
    size: str = ""
    """'612 MB'; empty where nothing was written."""


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
class PartRow:
    """One delivered file."""

    number: str
    position: int
    file: str
    purpose: str
    format: str
    length: Amount
    true_peak: Amount
    loudness: Amount
    checksum: str
    """First eight figures of the SHA-256 of the file's bytes."""
    verdict: Verdict
    sha256: str = ""
    md5: str = ""
    size_bytes: str = ""
    title: str = ""
    isrc: str = ""


@dataclass(frozen=True, slots=True)
class PartTable:
    """The files for one spec."""

    spec: str
    title: str
    about: str
    folder: str
    judged_by: str
    """'cd-rate-16, edition 3, checked 2026-02-11, digest 1a2b3c4d'."""
    verdict: Verdict
    rows: tuple[PartRow, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Notice:
    """An answer that is not 'met', once for all the specs that gave the same."""

    track: str
    """'3', or 'release'; '1 to 13' where it is about several."""
    position: int | None
    rule: str
    verdict: Verdict
    bearing: str
    """'must', 'should', or 'sign, not proof'."""
    specs: tuple[str, ...]
    """Titles."""
    found: str = ""
    wanted: str = ""
    remedy: str = ""
    why: str = ""
    place: str = ""
    """Line of the release file, or times to listen at."""
    refuses: bool = False
    """True if it keeps a file from being ready."""
    at_s: tuple[float, ...] = ()
    """Times to listen at, in seconds to the tenth."""
    tracks: int = 1
    """How many tracks it is about."""
    subject: str = ""
    """Of its rule: 'loudness', 'label_copy' ..."""


@dataclass(frozen=True, slots=True)
class WaivedRow:
    """A waived check."""

    what: str
    track: str
    specs: str
    by: str
    why: str


@dataclass(frozen=True, slots=True)
class AcceptedRow:
    """An accepted remark."""

    track: str
    position: int | None
    """Current position of its audio; None if it is no longer on the release."""
    rule: str
    found: str
    """The finding of the rule; or why the acceptance does not apply."""
    specs: str
    by: str
    why: str


@dataclass(frozen=True, slots=True)
class LogRow:
    """A line of the QC log."""

    track: str
    position: int | None
    time: str
    """'1:23.450', 'throughout'."""
    at_s: float | None
    channel: str
    what: str
    decision: str
    by: str


@dataclass(frozen=True, slots=True)
class FigureRow:
    """One figure, for each file."""

    label: str
    unit: str
    cells: tuple[str, ...]
    """One for each column, without the unit."""


@dataclass(frozen=True, slots=True)
class FigureTable:
    """Figures of a track's files."""

    columns: tuple[str, ...]
    rows: tuple[FigureRow, ...]
    notes: tuple[str, ...] = ()
    """Why something was not measured, once for each reason."""


@dataclass(frozen=True, slots=True)
class Over:
    """A place above the ceiling."""

    at_s: float
    text: str
    """'0:12.4 +0.32 dBTP'."""
    number: str = ""
    """By which the mark in the picture and the line in the list find each other."""


@dataclass(frozen=True, slots=True)
class Tick:
    """A labelled position of an axis."""

    at: float
    """Position, in the unit of its axis."""
    text: str


@dataclass(frozen=True, slots=True)
class Place:
    """A point in a plot with its number."""

    at_s: float
    at: float
    """Height, in the unit of the plot."""
    text: str


@dataclass(frozen=True, slots=True)
class Band:
    """A window that a figure has to lie in; open ends reach to the edge of the plot."""

    low: float | None
    high: float | None
    text: str


@dataclass(frozen=True, slots=True)
class Waveform:
    """Outline of a song, with its overs."""

    low: tuple[float, ...]
    high: tuple[float, ...]
    duration_s: float
    times: tuple[Tick, ...]
    overs: tuple[Over, ...]
    overs_text: str
    """'3 overs above 0 dBTP', 'no overs above 0 dBTP'."""
    ceiling: Tick | None = None
    """The limit as amplitude, above and below the middle."""
    peak: Place | None = None
    """The highest true peak, as amplitude."""


@dataclass(frozen=True, slots=True)
class LoudnessCurve:
    """Short-term loudness of a song over time."""

    short_term_lufs: tuple[float, ...]
    first_s: float
    """Time of the first value: the middle of its window."""
    step_s: float
    duration_s: float
    times: tuple[Tick, ...]
    levels: tuple[Tick, ...]
    """Grid lines; the first is the lowest, the last the highest of the plot."""
    integrated: Tick | None
    loudest: Tick | None
    loudest_at_s: float
    loudest_text: str = ""
    """The number alone, to be drawn at the place."""
    window: Band | None = None
    """Where the integrated loudness has to lie."""


@dataclass(frozen=True, slots=True)
class Spectrum:
    """Third-octave levels of a song."""

    hz: tuple[float, ...]
    db: tuple[float, ...]
    bands: tuple[Tick, ...]
    levels: tuple[Tick, ...]
    highest: Tick | None
    highest_hz: float


@dataclass(frozen=True, slots=True)
class OrderTable:
    """The running order, without columns that are empty for this release."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: frozenset[int]
    """Columns of numbers, from 0."""


@dataclass(frozen=True, slots=True)
class ResultTable:
    """The result of each song for each spec."""

    columns: tuple[str, ...]
    """Titles of the specs."""
    rows: tuple[tuple[str, str, tuple[Verdict | None, ...]], ...]
    """Number and title of the song, and its results; None where the spec does not receive it."""


@dataclass(frozen=True, slots=True)
class Done:
    """Steps done or planned for one file."""

    spec: str
    title: str
    headline: str
    """'samples bit-identical', 'rate 96 -> 44.1 kHz, dithered to 16 bit'."""
    lines: tuple[str, ...]
    untouched: bool
    file: str = ""
    """Name of the delivered file; empty where there is none of its own."""
    sha256: str = ""


@dataclass(frozen=True, slots=True)
class TrackPage:
    """Everything on a track's page."""

    position: int
    number: str
    title: str
    artist: str
    facts: tuple[Fact, ...]
    pictured: str
    """Which file the curves show: 'as delivered: Store master', 'as received'."""
    waveform: Waveform | None
    loudness: LoudnessCurve | None
    spectrum: Spectrum | None
    no_picture: str
    """Why there are no curves; empty when there are."""
    figures: FigureTable | None
    done: tuple[Done, ...]
    notices: tuple[Notice, ...]
    waived: tuple[WaivedRow, ...]
    verdict: Verdict
    accepted: tuple[AcceptedRow, ...] = ()
    log: tuple[LogRow, ...] = ()


@dataclass(frozen=True, slots=True)
class CarriedRow:
    """One statement about a track's files, and the specs for which it holds."""

    position: int
    track: str
    what: str
    """REMOVED, REPLACED or KEPT of `carried`."""
    text: str
    specs: tuple[str, ...]
    """Ids; empty where it holds for all files of the track."""
    brief: str = ""
    """The same in a few words, where tracks differ in the texts alone; else empty."""


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
    """'142 checks: 138 met, 2 not met, 1 waived, 1 not measured'."""
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
    results: ResultTable = ResultTable((), ())
    carried: tuple[CarriedRow, ...] = ()
    """What became of the masters' own tags and chunks."""
    answer: AnswerForm | None = None
    """The form to approve with; None where there is nothing to approve."""
    changed: str = ""
    """How much differs from an earlier delivery, in one sentence; empty if none is known."""
    changes: tuple[str, ...] = ()
    """Each change, in a sentence."""
