"""One finding in the words and fields of a report, and the order in which findings stand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from delivery.model.finding import Answer, Finding, Instrument, Weight
from delivery.model.part import Delivery, Part
from delivery.model.release import Release, Studio, Track
from delivery.model.source import Source
from delivery.model.spec import Spec
from delivery.report.view.notices import TO_CONFIRM, bearing, notices

TRACKS = (Track(1, Path("1.wav"), "One"), Track(2, Path("2.wav"), "Two", 2))
RELEASE = Release(
    Path("/m/release.yaml"), "Album", "Merrow", TRACKS, lines={"tracks/0/isrc": 9, "title": 2, "tracks": 5}
)
SPECS = tuple(Spec(name, title, "", date(2026, 1, 1), ()) for name, title in (("cd", "A disc"), ("x", "")))
FOUND = Finding("isrc", "cd", 1, Answer.NOT_MET, True, Weight.FACT, "none", "a code", "ask for it", subject="codes")


def delivery(*findings: Finding, release: Release = RELEASE, of_release: tuple[Finding, ...] = ()) -> Delivery:
    parts = tuple(Part(one.spec, one.track or 1, None, (one,)) for one in findings)
    sources = tuple(Source(track, None) for track in release.tracks)
    return Delivery(release, Studio(), SPECS, sources, parts, findings=of_release)


def only(**more: Any) -> Any:
    (found,) = notices(delivery(replace(FOUND, **more)))
    return found


def test_a_finding_with_everything_that_it_states() -> None:
    found = only(place="release.yaml:9", instrument=Instrument.WAIVE, excess_db=0.304)
    assert (found.track, found.position, found.rule, str(found.verdict), found.bearing) == (
        "1", 1, "isrc", "not met", "must",
    )  # fmt: skip
    assert (found.found, found.wanted, found.remedy, found.subject) == ("none", "a code", "ask for it", "codes")
    assert (found.line, found.place, found.line_and_place) == ("release.yaml:9", "", "release.yaml:9")
    assert (found.specs, found.refuses, found.instrument, found.excess_db) == (("A disc",), True, Instrument.WAIVE, 0.3)


def test_places_in_the_sound_are_times_and_not_lines() -> None:
    found = only(place="side A", at_s=(61.26, 2.0, 3.0, 4.0, 5.0))
    assert (found.line, found.place) == ("", "side A, 1:01.3, 0:02.0, 0:03.0, 0:04.0, and 1 more")
    assert found.at_s == (61.3, 2.0, 3.0, 4.0, 5.0)


@pytest.mark.parametrize(
    ("must", "weight", "said"),
    [(True, Weight.FACT, "must"), (False, Weight.FACT, "should"), (True, Weight.WEAK_SIGN, "weak sign, not proof"),
     (False, Weight.STRONG_SIGN, "strong sign, not proof")],
)  # fmt: skip
def test_what_a_finding_means_for_the_files(must: bool, weight: Weight, said: str) -> None:
    assert bearing(replace(FOUND, must=must, weight=weight)) == said
    assert only(must=must, weight=weight).refuses is (said == "must")


def test_answers_that_are_met_or_accepted_are_no_notices() -> None:
    assert notices(delivery(replace(FOUND, answer=Answer.MET), replace(FOUND, answer=Answer.ACCEPTED))) == ()
    unknown = only(answer=Answer.NOT_MEASURED, found="", why="too short")
    assert (str(unknown.verdict), unknown.why, unknown.refuses) == ("not measured", "too short", True)


def test_one_finding_for_all_specs_that_gave_the_same() -> None:
    """A spec without a title is named by its id, one that is not part of the delivery by its own."""
    (found,) = notices(delivery(FOUND, replace(FOUND, spec="x"), replace(FOUND, spec="gone")))
    assert found.specs == ("A disc", "x", "gone")
    assert len(notices(delivery(FOUND, replace(FOUND, spec="x", found="other")))) == 2


def test_the_release_comes_first_then_each_track_with_the_worst_first() -> None:
    remark = replace(FOUND, must=False, found="a remark")
    waived = replace(FOUND, answer=Answer.WAIVED, found="waived")
    whole = delivery(
        replace(FOUND, track=2), waived, remark, FOUND, of_release=(replace(FOUND, track=None, found="of it all"),)
    )
    assert [(one.track, one.found) for one in notices(whole)] == [
        ("release", "of it all"), ("1", "none"), ("1", "a remark"), ("1", "waived"), ("2", "none"),
    ]  # fmt: skip


def test_values_that_wait_to_be_confirmed_are_one_notice_with_their_line() -> None:
    (found,) = notices(delivery(release=replace(RELEASE, to_confirm=("title",))))
    assert (found.rule, found.track, found.bearing, found.refuses) == (TO_CONFIRM, "release", "must", True)
    assert found.found == "from folder and file names: title 'Album'"
    assert found.wanted == "each confirmed before anything is built"
    assert found.remedy == "correct what is wrong and delete it from to_confirm, or run 'delivery confirm'"
    assert (found.line, found.specs, str(found.verdict)) == ("release.yaml:2", ("A disc", "x"), "not met")
