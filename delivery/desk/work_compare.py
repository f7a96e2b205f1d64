"""Comparisons in the worker process, as `delivery compare` and `delivery reference make` do them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from delivery.report.html.pair import Picture
    from delivery.report.view.pair import PairView

Progress = Callable[[str, int, int], None]


@dataclass(frozen=True, slots=True)
class PairJob:
    """Two files to be compared."""

    one: Path
    other: Path
    copies: Path
    """Folder for the copies to listen to."""


@dataclass(frozen=True, slots=True)
class ReferenceJob:
    """Songs to compare with a reference playlist."""

    songs: Path
    reference: str


@dataclass(frozen=True, slots=True)
class KeepJob:
    """A reference playlist to be measured and kept."""

    name: str
    folder: Path


@dataclass(frozen=True, slots=True)
class PairResult:
    """Two files beside each other."""

    one: str
    other: str
    view: PairView
    picture: Picture | None
    excerpts: tuple[str, ...] = ()
    """Titles of the excerpts that can be heard."""
    copies: tuple[Path, ...] = ()
    """Of each excerpt the one and the other."""


@dataclass(frozen=True, slots=True)
class ReferenceResult:
    """Songs beside a reference playlist."""

    contents: Mapping[str, Any]
    """What the page of the comparison prints."""
    problems: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class KeptResult:
    """A reference playlist that was kept."""

    name: str
    tracks: int
    marked: tuple[tuple[str, str], ...]
    """File and what is doubtful about it."""
    problems: tuple[str, ...]


def compare_files(job: PairJob, workers: int, progress: Progress) -> PairResult:
    """Compare two files. Raises Unusable as the command."""
    from delivery import figures
    from delivery.report.html.pair import picture
    from delivery.report.view.pair import pair_view
    from delivery.tasks.listening import write_excerpts
    from delivery.tasks.pair import compare_pair
    from delivery.tasks.stores import MeasurementCache, ledger_path

    with MeasurementCache(ledger_path()) as cache:
        found = compare_pair(job.one, job.other, cache, workers=workers, progress=progress)
    names = (job.one.name, job.other.name)
    if names[0] == names[1]:
        names = (f"{job.one.parent.name}/{names[0]}", f"{job.other.parent.name}/{names[1]}")
    view, drawn = pair_view(found, *names, figures()), picture(found)
    if not found.same_recording or found.gain_db is None or found.offset_s is None:
        return PairResult(*names, view, drawn)
    progress("making copies to listen to", 0, 1)
    heard = write_excerpts(found, job.one, job.other, job.copies)
    return PairResult(
        *names, view, drawn, tuple(title for title, *_ in heard), tuple(path for _, *both in heard for path in both)
    )


def beside_reference(job: ReferenceJob, workers: int, progress: Progress) -> ReferenceResult:
    """Set songs beside a reference. Raises Unusable as the command."""
    from delivery.report.html.reference import contents
    from delivery.tasks.reference import compare_with_reference
    from delivery.tasks.stores import MeasurementCache, ledger_path

    with MeasurementCache(ledger_path()) as cache:
        found = compare_with_reference([job.songs], job.reference, cache, workers=workers, progress=progress)
    return ReferenceResult(contents(found), found.problems)


def keep_reference(job: KeepJob, workers: int, progress: Progress) -> KeptResult:
    """Measure a folder as a reference. Raises Unusable, Occupied as the command."""
    from delivery.tasks.reference import make_reference
    from delivery.tasks.stores import MeasurementCache, ledger_path

    with MeasurementCache(ledger_path()) as cache:
        kept = make_reference(job.name, [job.folder], cache, workers=workers, progress=progress)
    marked = tuple((file, "; ".join(mark.reason for mark in marks)) for file, marks in kept.marks.items() if marks)
    return KeptResult(job.name, len(kept.reference.tracks), marked, kept.problems)
