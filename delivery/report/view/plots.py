"""Data types for the plots on a track's page: curves, axes with labels, and marked places."""

from __future__ import annotations

from dataclasses import dataclass


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
