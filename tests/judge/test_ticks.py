"""A tick quiets a remark about one recording; it lets nothing through that would refuse a file."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from delivery.judge import Scope, judge, rules, tickable
from delivery.model.figure import Reading
from delivery.model.finding import Answer, Finding, Result, worst
from delivery.model.release import Intended, Waiver
from tests.judge.told import requirement, spec_of

TICK = Intended("true-peak-ceiling", 1, "93fd4f2b", "I. Merrow", "the bell is meant to bite")
LOUD = {"true_peak_dbtp": Reading(0.3)}
CEILING = requirement("true_peak_max_dbtp", -1.0)
SHOULD = replace(CEILING, must=False)


def of_track(facts: dict[str, Any], asked: Any, *ticks: Intended, waivers: tuple[Waiver, ...] = ()) -> Finding:
    (found,) = judge(spec_of(asked), facts, scope=Scope.TRACK, track=1, waivers=waivers, intended=ticks)
    return found


def test_a_remark_that_is_ticked_is_quiet_and_keeps_its_figure() -> None:
    found = of_track(LOUD, SHOULD, TICK)
    assert (found.answer, found.result) == (Answer.INTENDED, Result.READY)
    assert (found.found, found.why) == ("+0.30 dBTP", "I. Merrow: the bell is meant to bite")


def test_a_must_is_not_ticked_away() -> None:
    found = of_track(LOUD, CEILING, TICK)
    assert (found.answer, found.result) == (Answer.SHORT, Result.SHORT)


def test_a_sign_can_be_ticked_whatever_the_spec_calls_it() -> None:
    """Only a fact can fail a file, so a sign is a remark."""
    tick = replace(TICK, rule="raised-rate")
    rule = next(rule for rule in rules().values() if rule.asks == "not_upsampled")
    found = of_track(
        {"upsampled_from_hz": Reading(44100)}, requirement("not_upsampled", True), replace(tick, rule=rule.id)
    )
    assert found.answer is Answer.INTENDED


@pytest.mark.parametrize(
    "facts", [{}, {"true_peak_dbtp": Reading.missing("silent")}, {"true_peak_dbtp": Reading(-3.0)}]
)
def test_a_tick_changes_neither_met_nor_not_measured(facts: dict[str, Any]) -> None:
    assert of_track(facts, SHOULD, TICK) == of_track(facts, SHOULD)


def test_a_tick_for_another_rule_quiets_nothing() -> None:
    assert of_track(LOUD, SHOULD, replace(TICK, rule="tail-length")).answer is Answer.SHORT


def test_what_is_ticked_needs_no_waiver() -> None:
    waiver = Waiver("true-peak-ceiling", "I. Hale", "so")
    assert of_track(LOUD, SHOULD, TICK, waivers=(waiver,)).answer is Answer.INTENDED


def test_only_rules_about_one_files_sound_can_be_ticked() -> None:
    able = {rule.id for rule in rules().values() if tickable(rule)}
    assert {"true-peak-ceiling", "clipped-runs"} <= able
    assert not able & {"title-unique", "isrc-form", "name-ascii", "upc-check-digit", "one-rate"}


def test_intended_outranks_nothing() -> None:
    findings = [of_track(LOUD, SHOULD, TICK), of_track({"true_peak_dbtp": Reading(-3.0)}, SHOULD)]
    assert worst(finding.result for finding in findings) is Result.READY
