"""The engine: a result for every requirement, in one order, and waivers in view."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from delivery.errors import Unusable
from delivery.model.figure import Reading
from delivery.model.finding import Answer, Finding, Result, Weight, worst
from delivery.model.release import Waiver
from delivery.rules import Scope, judge, rules, unknown_waivers
from tests.rules.case_files import answers, release_of, requirement, spec_of

LOUD = {"true_peak_dbtp": Reading(0.3), "integrated_lufs": Reading(-9.2)}
CEILING = requirement("true_peak_max_dbtp", -1.0)
WAIVER = Waiver("true_peak_max_dbtp", "Ines Hale", "the artist wants it so")


def of_track(
    facts: dict[str, Any], *requested: Any, waivers: tuple[Waiver, ...] = (), track: int = 1
) -> tuple[Finding, ...]:
    return judge(spec_of(*requested), facts, scope=Scope.TRACK, track=track, waivers=waivers)


def test_silence_is_never_a_pass() -> None:
    """Without a single fact every rule required still answers, and never 'met'."""
    requested = spec_of(
        *(requirement(rule.id, True) for rule in rules().values() if not _limit_matters(rule.limit_text))
    )
    for scope in Scope:
        found = judge(requested, {}, scope=scope, track=None, waivers=())
        expected = {rule.id for rule in rules().values() if rule.scope is scope and not _limit_matters(rule.limit_text)}
        assert {finding.rule for finding in found} == expected
        assert len(expected) > 3
        assert {finding.answer for finding in found} == {Answer.NOT_MEASURED}


def _limit_matters(wants: Any) -> bool:
    try:
        wants(True)
    except (AttributeError, KeyError, TypeError):
        return True
    return False


def test_only_the_requested_scope_is_judged() -> None:
    rate, once = requirement("rate_hz", (44100,)), requirement("title_unique", True)
    facts = {"rate_hz": Reading(44100), "release": Reading(release_of({}))}
    spec = spec_of(rate, once)
    assert [f.rule for f in judge(spec, facts, scope=Scope.TRACK, track=1, waivers=())] == ["rate_hz"]
    assert [f.rule for f in judge(spec, facts, scope=Scope.RELEASE, track=None, waivers=())] == ["title_unique"]


def test_findings_are_ordered_by_rule_then_place() -> None:
    release = release_of(
        {
            "tracks": [
                {"title": "a", "isrc": "ZZOSL2600001"},
                {"title": "a", "isrc": "ZZOSL2600002"},
                {"title": "b", "isrc": "ZZOSL2600002"},
                {"title": "b", "isrc": "ZZOSL2600001"},
            ],
            "lines": {"tracks/2/isrc": 8, "tracks/3/isrc": 9, "tracks/1/title": 5, "tracks/3/title": 9},
        }
    )
    spec = spec_of(requirement("title_unique", True), requirement("isrc_unique", True))
    found = judge(spec, {"release": Reading(release)}, scope=Scope.RELEASE, track=None, waivers=())
    assert [(f.rule, f.place) for f in found] == [
        ("isrc_unique", "release.yaml:8"),
        ("isrc_unique", "release.yaml:9"),
        ("title_unique", "release.yaml:5"),
        ("title_unique", "release.yaml:9"),
    ]


def test_a_finding_carries_the_specs_source_and_weight() -> None:
    ceiling = replace(CEILING, must=False, source="AES TD1008, section 4")
    (finding,) = of_track(LOUD, ceiling, track=3)
    assert (finding.spec, finding.track, finding.must, finding.source) == (
        "invented",
        3,
        False,
        "AES TD1008, section 4",
    )
    assert finding.weight is Weight.FACT
    assert finding.result is Result.REMARKS


def test_a_must_that_is_not_met_fails_and_a_sign_never_does() -> None:
    (fact,) = of_track(LOUD, CEILING)
    (sign,) = of_track({"upsampled_from_hz": Reading(44100)}, requirement("not_upsampled", True))
    assert (fact.result, sign.result) == (Result.NOT_READY, Result.REMARKS)


def test_not_measured_outranks_short() -> None:
    found = of_track(LOUD, CEILING, requirement("rate_hz", (44100,)))
    assert worst(finding.result for finding in found) is Result.NOT_READY


@pytest.mark.parametrize(
    "waiver",
    [WAIVER, replace(WAIVER, track=1), replace(WAIVER, spec="invented"), replace(WAIVER, track=1, spec="invented")],
)
def test_waiver_that_fits_is_printed_with_its_reason(waiver: Waiver) -> None:
    (finding,) = of_track(LOUD, CEILING, waivers=(waiver,))
    assert finding.answer is Answer.WAIVED
    assert finding.why == "Ines Hale: the artist wants it so"
    assert finding.found == "+0.30 dBTP"
    assert finding.result is Result.REMARKS


@pytest.mark.parametrize(
    "waiver", [replace(WAIVER, rule="tail_s"), replace(WAIVER, track=2), replace(WAIVER, spec="another")]
)
def test_waiver_for_something_else_waives_nothing(waiver: Waiver) -> None:
    (finding,) = of_track(LOUD, CEILING, waivers=(waiver,))
    assert finding.answer is Answer.NOT_MET


def test_waiver_changes_neither_met_nor_not_measured() -> None:
    (met,) = of_track({"true_peak_dbtp": Reading(-2.0)}, CEILING, waivers=(WAIVER,))
    (missing,) = of_track({}, CEILING, waivers=(WAIVER,))
    assert (met.answer, missing.answer) == (Answer.MET, Answer.NOT_MEASURED)


def test_waivers_for_unknown_rules_are_reported() -> None:
    wrong = replace(WAIVER, rule="true-peak-celing")
    assert unknown_waivers((WAIVER, wrong)) == (wrong,)


def test_the_others_are_compared_when_one_file_is_missing() -> None:
    case = {
        "facts": {"tracks": [{"rate_hz": 44100}, {"rate_hz": {"missing": "empty"}}, {"rate_hz": 48000}]},
        "limit": True,
    }
    found = answers(rules()["one_rate"], case)
    assert [(f.answer, f.found, f.why) for f in found] == [
        (Answer.NOT_MEASURED, "", "track 2: empty"),
        (Answer.NOT_MET, "44.1 kHz on track 1; 48 kHz on track 3", ""),
    ]


@pytest.mark.parametrize("rule", ["one_rate", "one_depth", "no_duplicate_audio"])
def test_a_file_that_gave_no_figures_is_reported_in_words(rule: str) -> None:
    (finding,) = answers(rules()[rule], {"facts": {"tracks": [{}]}, "limit": True})
    assert (finding.answer, finding.why) == (Answer.NOT_MEASURED, "track 1: its file could not be read")


def test_two_missing_facts_give_both_reasons_once() -> None:
    facts = {"clip_run_count": Reading.missing("lossy"), "clip_run_longest": Reading.missing("too short")}
    (finding,) = of_track(facts, requirement("clip_runs_max", 0))
    assert finding.why == "lossy; too short"


def test_a_requirement_without_a_rule_is_refused() -> None:
    with pytest.raises(Unusable, match=r"invented.yaml:9: found the requirement 'sparkle_min'"):
        of_track({}, requirement("sparkle_min", 3))
