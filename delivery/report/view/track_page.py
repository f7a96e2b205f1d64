"""Data types of a track's page: curves, figures, steps and findings."""

from __future__ import annotations

from dataclasses import dataclass

from delivery.report.view.elements import Fact, Verdict
from delivery.report.view.finding_rows import AcceptedRow, LogRow, Notice, WaivedRow
from delivery.report.view.plots import LoudnessCurve, Spectrum, Waveform


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
