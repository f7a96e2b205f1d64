"""Data types of the delivered files: where they go, a row for each, their results, their masters' own tags."""

from __future__ import annotations

from dataclasses import dataclass

from delivery.report.view.elements import Amount, Verdict


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
class ResultTable:
    """The result of each song for each spec."""

    columns: tuple[str, ...] = ()
    """Titles of the specs."""
    rows: tuple[tuple[str, str, tuple[Verdict | None, ...]], ...] = ()
    """Number and title of the song, and its results; None where the spec does not receive it."""


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
