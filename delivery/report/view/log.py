"""The QC log, and the remarks that are accepted. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from delivery.model.finding import Answer, Finding
from delivery.model.grouped import grouped
from delivery.model.part import Delivery, Source
from delivery.model.release import Acceptance, LogEntry
from delivery.report.view import words
from delivery.report.view.finding_rows import AcceptedRow, LogRow

OPEN, THROUGHOUT = "open", "throughout"
VOID = "void: this audio is not on the release (any more)"
QUIET = "nothing is remarked"


def log(delivery: Delivery) -> tuple[LogRow, ...]:
    """The release first, then by track and time, otherwise in written order."""
    numbers = words.numbers(delivery.release)
    durations = {source.track.position: _duration_s(source) for source in delivery.sources}
    entries = sorted(delivery.release.qc_log, key=lambda entry: (entry.track or 0, entry.at_s or 0.0))
    return tuple(_log_row(entry, numbers, durations.get(entry.track or 0)) for entry in entries)


def _log_row(entry: LogEntry, numbers: dict[int | None, str], duration_s: float | None) -> LogRow:
    return LogRow(
        track=numbers.get(entry.track, str(entry.track)),
        position=entry.track,
        time=_time(entry.at_s, duration_s),
        at_s=entry.at_s,
        channel=words.plain(entry.channel),
        what=words.supplied(entry.what),
        decision=words.plain(entry.decision) or OPEN,
        by=words.supplied(entry.by),
    )


def _time(at_s: float | None, duration_s: float | None) -> str:
    """To the millisecond where it was written so; a time after the end is marked as such."""
    beyond = at_s is not None and duration_s is not None and at_s > duration_s
    return clock_of(at_s) + (", after the end" if beyond else "")


def clock_of(at_s: float | None) -> str:
    """The time as it was written; None: throughout."""
    return THROUGHOUT if at_s is None else words.clock(at_s, 0 if at_s == int(at_s) else 3)


def _duration_s(source: Source) -> float | None:
    value = source.measurement.value("duration_s") if source.measurement else None
    return None if value is None else float(value)


def accepted(delivery: Delivery) -> tuple[AcceptedRow, ...]:
    """Every acceptance of the release file, whether or not its rule gives a remark."""
    numbers = words.numbers(delivery.release)
    titles = {spec.id: words.plain(spec.title) or spec.id for spec in delivery.specs}
    found = grouped(
        (finding for part in delivery.parts for finding in part.findings if finding.answer is Answer.ACCEPTED),
        lambda finding: (finding.rule, finding.track),
    )
    about = ((acceptance, _about(acceptance, delivery)) for acceptance in delivery.release.accepted)
    return tuple(
        _accepted_row(acceptance, position, found.get((acceptance.rule, position), ()), numbers, titles)
        for acceptance, position in about
    )


def _about(acceptance: Acceptance, delivery: Delivery) -> int | None:
    """The current position on the release of *acceptance*'s audio."""
    for source in delivery.sources:
        if source.measurement and acceptance.is_about(source.measurement.value("audio_hash")):
            return source.track.position
    return None


def _accepted_row(
    acceptance: Acceptance,
    position: int | None,
    own: Sequence[Finding],
    numbers: dict[int | None, str],
    titles: dict[str, str],
) -> AcceptedRow:
    text = words.unique(words.plain(finding.found) for finding in own)
    return AcceptedRow(
        track=numbers.get(position or acceptance.track, str(acceptance.track)),
        position=position,
        rule=words.plain(acceptance.rule),
        found="; ".join(text) or (VOID if position is None else QUIET),
        specs=", ".join(words.unique(titles.get(finding.spec, finding.spec) for finding in own)),
        by=words.supplied(acceptance.by),
        why=words.supplied(acceptance.why),
    )
