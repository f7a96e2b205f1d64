"""Answers that are neither 'met' nor 'accepted', each once, and the waivers in force. Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

from delivery.model.finding import Answer, Finding, Result, Weight
from delivery.model.part import Delivery
from delivery.model.release import Release, Waiver
from delivery.model.spec import Spec
from delivery.model.unconfirmed import in_short
from delivery.report.view import words
from delivery.report.view.finding_rows import Notice, WaivedRow

TO_CONFIRM = "to_confirm"
"""Key of the release file that lists unconfirmed values."""
NO_FILE = "file-usable"
"""Printed in the rule column if no rule could be run."""


def all_findings(delivery: Delivery) -> list[Finding]:
    """About the release first, then by track, each in the order of the specs."""
    order = {spec.id: at for at, spec in enumerate(delivery.specs)}
    found = [*delivery.findings, *(finding for part in delivery.parts for finding in part.findings)]
    found += [finding for image in delivery.images for finding in image.findings]
    return sorted(found, key=lambda finding: (finding.track or 0, order.get(finding.spec, len(order))))


def notices(delivery: Delivery) -> tuple[Notice, ...]:
    """Worst first within the release and within each track; one row for all specs that reported the same.

    A level above the ceilings of several specs are one row, with the strictest limit.
    """
    alike: dict[tuple[int, str] | Notice, list[_SpecNotice]] = {}
    specs = {spec.id: spec for spec in delivery.specs}
    titles = {spec.id: words.plain(spec.title) or spec.id for spec in delivery.specs}
    numbers = words.numbers(delivery.release)
    for finding in all_findings(delivery):
        if finding.answer not in (Answer.MET, Answer.ACCEPTED):
            notice, ceiling = _notice(finding, numbers, delivery.release), _ceiling(finding, specs.get(finding.spec))
            key = notice if ceiling is None else (finding.track or 0, finding.rule)
            alike.setdefault(key, []).append(_SpecNotice(notice, titles.get(finding.spec, finding.spec), ceiling))
    merged = [_of_all_specs(same) for same in alike.values()]
    return tuple(sorted([*_to_confirm(delivery), *_problems(delivery, numbers, titles), *merged], key=_weight))


@dataclass(frozen=True, slots=True)
class _SpecNotice:
    notice: Notice
    spec: str
    """Its title."""
    ceiling: float | None
    """The limit, where the notice is a remark about a level above it."""


def _ceiling(finding: Finding, spec: Spec | None) -> float | None:
    """The limit of a remark about a level; None for every other finding. Rules of this subject have no lower limits."""
    remark = finding.answer is Answer.NOT_MET and finding.result is not Result.NOT_READY
    limit = spec.limit(finding.rule) if spec and remark and finding.subject == "level" else None
    return float(limit) if isinstance(limit, int | float) else None


def _of_all_specs(same: list[_SpecNotice]) -> Notice:
    """Equal notices as one; of different ceilings the lowest, and how many there are."""
    ceilings = {each.ceiling for each in same}
    notice = min(same, key=lambda each: each.ceiling or 0).notice
    several = f" (the strictest of {len(ceilings)} limits)" if len(ceilings) > 1 else ""
    wanted = notice.wanted + several
    return replace(notice, wanted=wanted, specs=tuple(words.unique(each.spec for each in same)))


def by_words(notices: Iterable[Notice]) -> list[Notice]:
    """One row for all tracks with the same finding: thirteen hard starts of an album are one row, not thirteen.

    Places are listed by track; the times themselves stay with the original notices.
    """
    return [same[0] if len(same) == 1 else _of_all(_without_track(same[0]), same) for same in alike_in_words(notices)]


def alike_in_words(notices: Iterable[Notice]) -> list[list[Notice]]:
    """Notices that differ in track and place alone, together."""
    alike: dict[Notice, list[Notice]] = {}
    for notice in notices:
        alike.setdefault(_without_track(notice), []).append(notice)
    return list(alike.values())


def _without_track(notice: Notice) -> Notice:
    return replace(notice, track="", position=None, place="", line="", at_s=(), excess_db=0.0)


def _of_all(common: Notice, same: list[Notice]) -> Notice:
    tracks = words.runs([notice.track for notice in same])
    lines, places = (_by_track(same, each) for each in ("line", "place"))
    return replace(common, track=tracks, line=lines, place=places, tracks=len(same))


def _by_track(same: list[Notice], name: str) -> str:
    found = ((notice.track, getattr(notice, name)) for notice in same)
    return "; ".join(f"track {track}: {where}" for track, where in found if where)


def _notice(finding: Finding, numbers: dict[int | None, str], release: Release) -> Notice:
    in_file = release.is_place(finding.place)
    return Notice(
        track=numbers.get(finding.track, str(finding.track)),
        position=finding.track,
        rule=finding.rule,
        verdict=words.verdict(finding.answer),
        bearing=bearing(finding),
        specs=(),
        found=words.plain(finding.found),
        wanted=words.plain(finding.wanted),
        remedy=words.plain(finding.remedy),
        why=words.plain(finding.why),
        place=words.places("" if in_file else finding.place, finding.at_s),
        line=words.plain(finding.place) if in_file else "",
        refuses=finding.result is Result.NOT_READY,
        at_s=tuple(round(at_s, 1) for at_s in finding.at_s),
        subject=finding.subject,
        instrument=finding.instrument,
        excess_db=round(finding.excess_db, 2),
    )


def bearing(finding: Finding) -> str:
    """Consequence: a must, a should, or a sign that proves nothing."""
    if finding.weight is not Weight.FACT:
        return f"{finding.weight.value}, not proof"
    return "must" if finding.must else "should"


def _to_confirm(delivery: Delivery) -> Iterable[Notice]:
    """All unconfirmed values as one notice, whatever the specs."""
    found = delivery.unconfirmed
    if found:
        yield Notice(
            track=words.numbers(delivery.release)[None],
            position=None,
            rule=TO_CONFIRM,
            verdict=words.verdict(Answer.NOT_MET),
            bearing="must",
            specs=tuple(words.plain(spec.title) or spec.id for spec in delivery.specs),
            found=words.plain(f"from folder and file names: {in_short(found)}"),
            wanted="each confirmed before anything is built",
            remedy="correct what is wrong and delete it from to_confirm, or run 'delivery confirm'",
            line=delivery.release.place(found[0].pointer),
            refuses=True,
        )


def _problems(delivery: Delivery, numbers: dict[int | None, str], titles: dict[str, str]) -> Iterable[Notice]:
    """Files for which no rule could be run."""
    alike: dict[tuple[int, str], list[str]] = {}
    for source in delivery.sources:
        if source.problem:
            alike[source.track.position, words.plain(source.problem)] = []
    for part in delivery.parts:
        if part.problem:
            alike.setdefault((part.track, words.plain(part.problem)), []).append(titles.get(part.spec, part.spec))
    for image in delivery.images:
        if image.problem:
            problem = words.plain(image.problem)
            alike.setdefault((0, f"{image.programme.name}: {problem}"), []).append(titles.get(image.spec, image.spec))
    for (position, problem), specs in alike.items():
        yield Notice(
            track=numbers.get(position or None, str(position)),
            position=position or None,
            rule=NO_FILE,
            verdict=words.verdict(Result.UNUSABLE),
            bearing="must",
            specs=tuple(words.unique(specs)),
            found=problem,
            refuses=True,
        )


def _weight(notice: Notice) -> tuple[int, int]:
    """Release, then tracks; refusals, then remarks, then waivers."""
    group = 2 if notice.verdict.word == Answer.WAIVED.value else 0 if notice.refuses else 1
    return notice.position or 0, group


def tally(delivery: Delivery) -> str:
    """'142 checks: 137 met, 1 waived, 2 not met, 1 to note, 1 not measured'; what is only advised is to note."""
    counts = Counter(_counted_as(finding) for finding in all_findings(delivery))
    order = [answer.value for answer in Answer]
    order.insert(order.index(Answer.NOT_MET) + 1, words.TO_NOTE)
    by_answer = ", ".join(
        f"{counts[word]} {word}" for word in order if counts[word] or word not in (Answer.ACCEPTED, words.TO_NOTE)
    )
    return f"{words.counted(sum(counts.values()), 'check')}: {by_answer}"


def _counted_as(finding: Finding) -> str:
    is_advice = finding.answer is Answer.NOT_MET and finding.result is not Result.NOT_READY
    return words.TO_NOTE if is_advice else finding.answer.value


def waivers(delivery: Delivery) -> tuple[WaivedRow, ...]:
    """Each with its name and reason, whether or not its rule applied."""
    titles = {spec.id: words.plain(spec.title) or spec.id for spec in delivery.specs}
    numbers = words.numbers(delivery.release)
    return tuple(_waived(waiver, numbers, titles) for waiver in delivery.release.waivers)


def _waived(waiver: Waiver, numbers: dict[int | None, str], titles: dict[str, str]) -> WaivedRow:
    return WaivedRow(
        what=words.plain(waiver.rule),
        track="all" if waiver.track is None else numbers.get(waiver.track, str(waiver.track)),
        specs="every spec" if waiver.spec is None else titles.get(waiver.spec, words.plain(waiver.spec)),
        by=words.supplied(waiver.by),
        why=words.supplied(waiver.why),
    )
