"""Data of the album pictures, and of the sheets of discs and sides."""

from __future__ import annotations

from dataclasses import dataclass

from delivery.report.view.elements import Fact


@dataclass(frozen=True, slots=True)
class PartLength:
    """How long a disc or side is, beside what it may be."""

    name: str
    """'Side A', 'Disc 1'."""
    spec: str
    """Its id, and how it is pressed."""
    tracks: str
    length: str
    good: str
    """Length up to which the manufacturer guarantees quality; 'not stated' if the spec has none."""
    at_most: str
    text: str
    """'good', 'longer than good', 'too long', 'within the limit', 'no limit stated'."""
    share: float | None
    """Of the longest length or limit of its spec: 0 to 1, to draw; None where there is no limit to draw it against."""
    good_share: float | None
    most_share: float | None


@dataclass(frozen=True, slots=True)
class AlbumPicture:
    """Order, lengths, gaps, joins, loudness and tone, each song beside the album."""

    title: str
    """'The album', or its recipients if specs receive different tracks."""
    text: str
    """How long it is, and how loud as one programme."""
    columns: tuple[str, ...]
    shares: tuple[float, ...]
    """Widths of the columns; they add up to 1."""
    figures: frozenset[int]
    """Columns of numbers, from 0."""
    rows: tuple[tuple[str, ...], ...]
    bars: tuple[tuple[float | None, ...], ...]
    """For each cell of each row: -1 to 1 to both sides of a middle line; None where no bar is drawn."""
    lengths: tuple[PartLength, ...]
    notes: tuple[str, ...]
    """Irregularities: files that are missing, extra, alike, of another form or out of order."""
    reads: tuple[str, ...]
    """How to read it."""


@dataclass(frozen=True, slots=True)
class CarrierTable:
    """A table below the one of positions."""

    title: str
    columns: tuple[str, ...]
    shares: tuple[float, ...]
    """Widths of the columns; they add up to 1."""
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class CarrierPart:
    """One disc or side, on paper."""

    name: str
    """'Side A', 'Disc 1'."""
    pressed: str
    """'12-inch 33⅓ rpm'; empty if unknown."""
    total: str
    facts: tuple[Fact, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...]
    more: tuple[CarrierTable, ...] = ()


@dataclass(frozen=True, slots=True)
class CarrierSheet:
    """The paper that a plant or cutting room works from."""

    spec: str
    title: str
    """'PQ sheet', 'Side sheet'."""
    file_name: str
    facts: tuple[Fact, ...]
    columns: tuple[str, ...]
    shares: tuple[float, ...]
    """Widths of the columns; they add up to 1."""
    times: frozenset[str]
    """Heads of columns of times, right-aligned so that the figures line up."""
    parts: tuple[CarrierPart, ...]
    notes: tuple[str, ...]
    written: bool
    """False: planned, or refused."""
