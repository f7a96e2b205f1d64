"""Every rule answers its cases: met, not met and not measured. What each case rests on is in its file."""

from __future__ import annotations

from typing import Any

import pytest

from delivery.model.finding import Answer, Finding, Instrument, Weight
from delivery.rules import acceptable, rules
from tests.rules.case_files import CASES, answers, cases_of

ANSWERS = {"met": Answer.MET, "not_met": Answer.NOT_MET, "not_measured": Answer.NOT_MEASURED}
ALL = [
    pytest.param(rule, answer, case, id=f"{rule}-{answer}-{number}")
    for rule in (path.stem for path in sorted(CASES.glob("*.yaml")))
    for answer, cases in cases_of(rule).items()
    for number, case in enumerate(cases, start=1)
]


@pytest.mark.parametrize(("rule", "answer", "case"), ALL)
def test_rule_answers_its_case(rule: str, answer: str, case: dict[str, Any]) -> None:
    """One finding, of the answer the case is under, with the words the case gives."""
    (finding,) = answers(rules()[rule], case)
    assert finding.answer is ANSWERS[answer]
    for stated in ("found", "wanted", "remedy", "why", "place"):
        if stated in case:
            assert getattr(finding, stated) == case[stated]
    if "at_s" in case:
        assert finding.at_s == tuple(case["at_s"])
    assert _complete(finding)


def _complete(finding: Finding) -> bool:
    """Nothing a reader of the sheet would miss."""
    if finding.answer is Answer.NOT_MET:
        return all((finding.found, finding.wanted, finding.remedy, finding.source))
    return bool(finding.why) == (finding.answer is Answer.NOT_MEASURED) and bool(finding.wanted)


NO_INSTRUMENT = {
    "finite_samples": "no file can hold the samples",
    "index_points_inside": "a contradiction in the release file",
    "instrumental_wordless": "a contradiction in the release file",
    "part_tracks_max": "no disc can hold the tracks",
    "sides_stated": "without sides nothing can be made",
    "title_style": "the remedy has the command that accepts a spelling",
    "release_title_style": "the remedy has the command that accepts a spelling",
    "tags_as_label_copy": "a fault of the program, to be reported",
}
"""Rule -> why its remedy names neither a waiver nor an acceptance."""


@pytest.mark.parametrize("rule", sorted(rules()))
@pytest.mark.parametrize("must", [True, False])
def test_remedy_names_the_instrument_that_exists(rule: str, must: bool) -> None:
    """A must is waived; a remark about one file's audio is accepted, and no other can be. The finding has the value."""
    stated = rules()[rule]
    remark = not must or stated.weight is not Weight.FACT
    exists = Instrument.ACCEPT if remark and acceptable(stated) else Instrument.WAIVE
    for case in cases_of(rule)["not_met"]:
        for finding in answers(stated, case, must=must):
            named = [each for each in (Instrument.ACCEPT, Instrument.WAIVE) if f", or {each}" in finding.remedy]
            assert named == ([] if rule in NO_INSTRUMENT else [exists]), finding.remedy
            assert finding.instrument is (Instrument.NONE if rule in NO_INSTRUMENT else exists)


@pytest.mark.parametrize("rule", sorted(rules()))
def test_rule_has_a_case_of_each_kind(rule: str) -> None:
    assert {answer for answer, cases in cases_of(rule).items() if cases} == set(ANSWERS)


@pytest.mark.parametrize("rule", sorted(rules()))
def test_the_cases_state_all_that_a_rule_reports(rule: str) -> None:
    """What was found in each case, and every other text, line and time that its cases lead to at least once."""
    cases = cases_of(rule)["not_met"]
    found = [answers(rules()[rule], case)[0] for case in cases]
    assert all("found" in case for case in cases)
    assert {one.remedy for one in found} == {case["remedy"] for case in cases if "remedy" in case}
    assert any("wanted" in case for case in (*cases, *cases_of(rule)["met"]))
    assert {one.place for one in found} <= {*(case["place"] for case in cases if "place" in case), "", "release.yaml"}
    assert {one.at_s for one in found} <= {*(tuple(case["at_s"]) for case in cases if "at_s" in case), ()}


def test_no_case_without_a_rule() -> None:
    assert {path.stem for path in CASES.iterdir()} == set(rules())


@pytest.mark.parametrize("rule", sorted(rules()))
def test_wanted_is_worded_in_one_place(rule: str) -> None:
    """A rule about one number words its limit the same whether it is met or not."""
    stated = rules()[rule]
    if stated.id in ("track_fields", "release_fields", "part_length_max", "part_length_good"):
        return  # a failed check there names the one field that is missing, or the row of its size and speed
    for case in cases_of(rule)["not_met"]:
        assert answers(stated, case)[0].wanted == stated.limit_text(case["limit"])
