"""An acceptance quiets a remark about one recording; it lets nothing through that would refuse a file."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from delivery.model.figure import Reading
from delivery.model.finding import Answer, Finding, Result, worst
from delivery.model.release import Acceptance, Waiver
from delivery.rules import Scope, acceptable, judge, rules
from tests.rules.case_files import requirement, spec_of

ACCEPTED = Acceptance("true_peak_max_dbtp", 1, "93fd4f2b", "I. Merrow", "the bell is meant to bite")
LOUD = {"true_peak_dbtp": Reading(0.3)}
CEILING = requirement("true_peak_max_dbtp", -1.0)
SHOULD = replace(CEILING, must=False)


def of_track(
    facts: dict[str, Any], requested: Any, *acceptances: Acceptance, waivers: tuple[Waiver, ...] = ()
) -> Finding:
    (found,) = judge(spec_of(requested), facts, scope=Scope.TRACK, track=1, waivers=waivers, accepted=acceptances)
    return found


def test_a_remark_that_is_accepted_is_quiet_and_keeps_its_figure() -> None:
    found = of_track(LOUD, SHOULD, ACCEPTED)
    assert (found.answer, found.result) == (Answer.ACCEPTED, Result.READY)
    assert (found.found, found.why) == ("+0.30 dBTP", "I. Merrow: the bell is meant to bite")


def test_a_must_is_not_accepted_away() -> None:
    found = of_track(LOUD, CEILING, ACCEPTED)
    assert (found.answer, found.result) == (Answer.NOT_MET, Result.NOT_READY)


def test_a_sign_can_be_accepted_whatever_the_spec_calls_it() -> None:
    """Only a fact can fail a file, so a sign is a remark."""
    acceptance = replace(ACCEPTED, rule="not_upsampled")
    rule = next(rule for rule in rules().values() if rule.id == "not_upsampled")
    found = of_track(
        {"upsampled_from_hz": Reading(44100)}, requirement("not_upsampled", True), replace(acceptance, rule=rule.id)
    )
    assert found.answer is Answer.ACCEPTED


@pytest.mark.parametrize(
    "facts", [{}, {"true_peak_dbtp": Reading.missing("silent")}, {"true_peak_dbtp": Reading(-3.0)}]
)
def test_an_acceptance_changes_neither_met_nor_not_measured(facts: dict[str, Any]) -> None:
    assert of_track(facts, SHOULD, ACCEPTED) == of_track(facts, SHOULD)


def test_an_acceptance_for_another_rule_quiets_nothing() -> None:
    assert of_track(LOUD, SHOULD, replace(ACCEPTED, rule="tail_s")).answer is Answer.NOT_MET


def test_what_is_accepted_needs_no_waiver() -> None:
    waiver = Waiver("true_peak_max_dbtp", "I. Hale", "so")
    assert of_track(LOUD, SHOULD, ACCEPTED, waivers=(waiver,)).answer is Answer.ACCEPTED


def test_only_remarks_about_one_files_sound_can_be_accepted() -> None:
    able = {rule.id for rule in rules().values() if acceptable(rule)}
    assert {"true_peak_max_dbtp", "clip_runs_max"} <= able
    assert not able & {"title_unique", "isrc_form", "name_ascii", "upc_check_digit", "one_rate"}


def test_intended_outranks_nothing() -> None:
    findings = [of_track(LOUD, SHOULD, ACCEPTED), of_track({"true_peak_dbtp": Reading(-3.0)}, SHOULD)]
    assert worst(finding.result for finding in findings) is Result.READY
