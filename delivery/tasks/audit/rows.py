"""From a measured file to a row of the tables: its codes, its figures, and what it does not meet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from delivery.intake.begin.codes_found import codes_in
from delivery.model.audit import TABLE_FIGURES, AuditItem, AuditRow
from delivery.model.finding import Finding, Result, worst
from delivery.model.release import Release
from delivery.model.spec import Spec
from delivery.model.track import Track
from delivery.pipeline.audit_file import TAGS, is_open, judged, narrowed, of_release, release_judged
from delivery.tags.values import with_version
from delivery.tasks.audit.take import Taken
from delivery.tasks.audit.tree import named_by, release_at


@dataclass(frozen=True, slots=True)
class Requirements:
    """The specs of an audit, each narrowed to what one file, or one release file, can answer."""

    of_sound: tuple[Spec, ...]
    of_tracks: tuple[Spec, ...]
    of_releases: tuple[Spec, ...]

    @classmethod
    def of(cls, specs: Sequence[Spec]) -> Requirements:
        """From whole specs."""
        return cls(
            tuple(narrowed(spec, with_label_copy=False) for spec in specs),
            tuple(narrowed(spec, with_label_copy=True) for spec in specs),
            tuple(of_release(spec) for spec in specs),
        )


def row_of(taken: Taken, requirements: Requirements) -> AuditRow:
    """The row of a file."""
    release, track = named_by(taken.item)
    stem = Path(taken.item.path).stem
    title = with_version(track.title, track.version) if track else stem
    if taken.measurement is None:
        return AuditRow(taken.item, title, _isrcs(track, ()), problem=taken.problem)
    measured = taken.measurement
    specs = requirements.of_tracks if release else requirements.of_sound
    by_spec = {spec.id: judged(spec, measured, release, track) for spec in specs}
    return AuditRow(
        taken.item,
        title,
        _isrcs(track, measured.value(TAGS) or ()),
        taken.sha256,
        str(measured.value("audio_hash") or ""),
        {name: measured.value(name) for name in TABLE_FIGURES},
        {spec: worst(finding.result for finding in findings) for spec, findings in by_spec.items()},
        tuple(filter(is_open, (finding for findings in by_spec.values() for finding in findings))),
    )


def release_rows(releases: Sequence[AuditItem], requirements: Requirements) -> Iterator[AuditRow]:
    """A row for each release file: its label copy and codes."""
    for item in releases:
        yield _release_row(release_at(item.location), item, requirements)


def _release_row(release: Release, item: AuditItem, requirements: Requirements) -> AuditRow:
    by_spec: dict[str, tuple[Finding, ...]] = {
        spec.id: release_judged(spec, release) for spec in requirements.of_releases
    }
    results = {spec: worst(finding.result for finding in found) for spec, found in by_spec.items()}
    findings = tuple(filter(is_open, (finding for found in by_spec.values() for finding in found)))
    return AuditRow(item, release.title, results=results, findings=findings)


def _isrcs(track: Track | None, in_tags: Sequence[str]) -> tuple[str, ...]:
    stated = [("", track.isrc)] if track and track.isrc else []
    return tuple(codes_in([*stated, *(("", text) for text in in_tags)]))


def not_met(row: AuditRow) -> int:
    """Requirements of all specs that keep the file from being ready."""
    return sum(finding.result is Result.NOT_READY for finding in row.findings)
