"""Check each requirement of a spec by its rule: met, not met, waived, accepted or not measured."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache, partial
from math import isfinite
from typing import Any

from delivery.errors import Unusable
from delivery.model import registry
from delivery.model.figure import Reading
from delivery.model.finding import Answer, Finding, Instrument, NotMet, Result, Weight
from delivery.model.release import Acceptance, Waiver
from delivery.model.spec import Requirement, Spec
from delivery.rules.rule import Rule, Scope, Unanswered


@cache
def rules() -> dict[str, Rule]:
    """Every rule of this package, by id."""
    import delivery.rules as room

    return registry.register(
        (member for module in registry.modules(room) for member in vars(module).values() if isinstance(member, Rule)),
        lambda rule: rule.id,
    )


def rule_ids() -> tuple[str, ...]:
    """Ids of all rules, sorted: the keys that a spec may require."""
    return tuple(rules())


def judge(
    spec: Spec,
    facts: Mapping[str, Reading],
    *,
    scope: Scope,
    track: int | None,
    waivers: tuple[Waiver, ...],
    accepted: tuple[Acceptance, ...] = (),
) -> tuple[Finding, ...]:
    """Judge everything *spec* requires within *scope*: at least one finding each.

    Parameters
    ----------
    facts : figures and other facts by name (see `Scope`); one that is absent counts as missing
    track : position on the release; None when the release itself is judged
    accepted : the acceptances of this file's audio; the caller compares the hashes

    Returns
    -------
    Findings by rule id, then place, then what was found.

    Raises
    ------
    Unusable : the spec requires something that no rule checks
    """
    findings = [
        _waived(_accepted(finding, accepted), waivers)
        for requirement in spec.requirements
        if (rule := _rule_for(requirement)).scope is scope
        for finding in _answers(rule, requirement, spec.id, facts, track)
    ]
    return tuple(sorted(findings, key=lambda finding: (finding.rule, finding.place, finding.found, finding.why)))


def acceptable(rule: Rule) -> bool:
    """True if a remark of *rule* can be accepted: it is about one file's audio, whatever its name."""
    return rule.scope is Scope.TRACK and not {"track", "release", "name"} & set(rule.needs)


def unknown_waivers(waivers: tuple[Waiver, ...]) -> tuple[Waiver, ...]:
    """Waivers of unknown rules, which would otherwise be ignored without notice."""
    return tuple(waiver for waiver in waivers if waiver.rule not in rules())


def _rule_for(requirement: Requirement) -> Rule:
    found = rules().get(requirement.rule)
    if found is None:
        raise Unusable(
            requirement.place,
            f"the requirement {requirement.rule!r}",
            "one that a rule checks",
            "See specs/catalogue.md.",
        )
    return found


def _answers(
    rule: Rule, requirement: Requirement, spec: str, facts: Mapping[str, Reading], track: int | None
) -> Iterator[Finding]:
    finding = partial(
        Finding,
        rule=rule.id,
        spec=spec,
        track=track,
        must=requirement.must,
        weight=rule.weight,
        wanted=rule.limit_text(requirement.limit),
        source=requirement.source,
        subject=rule.subject,
    )
    if other := rule.aside(facts):
        yield finding(answer=Answer.MET, found=other)
        return
    readings = [_reading(facts, need) for need in rule.needs]
    whys = list(dict.fromkeys(reading.why_missing for reading in readings if not reading.exists))
    if whys:
        yield finding(answer=Answer.NOT_MEASURED, why="; ".join(whys))
        return
    values = [reading.value for reading in readings]
    aids = [_reading(facts, aid).value for aid in rule.aided]
    answers = list(rule.judge(*values, *aids, requirement.limit))
    if not answers:
        yield finding(answer=Answer.MET, found=rule.shown(values, requirement.limit))
    for answer in answers:
        yield _answer(finding(answer=Answer.NOT_MET), answer, rule, facts)


def _reading(facts: Mapping[str, Reading], name: str) -> Reading:
    """The reading of a figure; NaN counts as missing, since it passes every comparison."""
    reading = facts.get(name, Reading.missing(f"no figure {name}"))
    if isinstance(reading.value, float) and not isfinite(reading.value):
        return Reading.missing(f"{name} came out as {reading.value}")
    return reading if reading.exists or reading.why_missing else Reading.missing(f"{name} is missing, no reason given")


def _answer(base: Finding, answer: NotMet | Unanswered, rule: Rule, facts: Mapping[str, Reading]) -> Finding:
    if isinstance(answer, Unanswered):
        return replace(base, answer=Answer.NOT_MEASURED, why=answer.why, place=answer.place)
    instrument = Instrument.NONE if answer.settled_if is None else _instrument(base, rule)
    settled = f"{instrument.value} {answer.settled_if or ''}".strip()
    return replace(
        base,
        found=answer.found,
        wanted=answer.wanted,
        remedy=", or ".join(filter(None, (answer.remedy, settled))),
        instrument=instrument,
        excess_db=answer.excess_db,
        place=answer.place,
        at_s=answer.at_s or _times(facts.get(rule.at)),
        track=base.track if answer.track is None else answer.track,
    )


def _instrument(finding: Finding, rule: Rule) -> Instrument:
    """A remark about one file's audio is accepted; anything else is waived."""
    is_remark = not finding.must or finding.weight is not Weight.FACT
    return Instrument.ACCEPT if is_remark and acceptable(rule) else Instrument.WAIVE


def _times(reading: Reading | None) -> tuple[float, ...]:
    value: Any = reading.value if reading else None
    if value is None:
        return ()
    return tuple(value) if isinstance(value, (tuple, list)) else (value,)


def _accepted(finding: Finding, accepted: tuple[Acceptance, ...]) -> Finding:
    """An acceptance applies to remarks only; requirements not met and figures not measured stay as they are."""
    if finding.answer is not Answer.NOT_MET or finding.result is not Result.REMARKS:
        return finding
    for acceptance in accepted:
        if acceptance.rule == finding.rule and acceptable(rules()[finding.rule]):
            return replace(finding, answer=Answer.ACCEPTED, why=f"{acceptance.by}: {acceptance.why}")
    return finding


def _waived(finding: Finding, waivers: tuple[Waiver, ...]) -> Finding:
    """Only a requirement that is not met can be waived, not one that was not measured."""
    if finding.answer is not Answer.NOT_MET:
        return finding
    for waiver in waivers:
        if (
            waiver.rule == finding.rule
            and waiver.track in (None, finding.track)
            and waiver.spec in (None, finding.spec)
        ):
            return replace(finding, answer=Answer.WAIVED, why=f"{waiver.by}: {waiver.why}")
    return finding
