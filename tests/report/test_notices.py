"""What is reported of many tracks is reported once."""

from __future__ import annotations

from dataclasses import replace

import pytest

from delivery.model.carrier import Carrier, Pressing, Programme
from delivery.model.chain import Target
from delivery.model.finding import Answer, Finding, Result
from delivery.model.part import Image
from delivery.model.release import Waiver
from delivery.report.view.finding_rows import Notice, WaivedRow
from delivery.report.view.notices import by_words, notices, tally, waivers
from delivery.report.view.words import runs, verdict
from delivery.rules import rules
from tests import samples

LEAD_IN = Notice(
    "1", 1, "lead-in", verdict(Answer.NOT_MET), "should", ("Store",), found="0.00 s", wanted="0.05 to 2.00 s"
)


@pytest.mark.parametrize(
    ("numbers", "text"),
    [
        (["1"], "1"),
        (["1", "2"], "1, 2"),
        (["1", "2", "3"], "1 to 3"),
        (["1", "3", "4", "5", "9", "10"], "1, 3 to 5, 9, 10"),
        (["1-01", "1-02"], "1-01, 1-02"),
        (["release"], "release"),
    ],
)
def test_neighbours_are_drawn_together(numbers: list[str], text: str) -> None:
    assert runs(numbers) == text


def test_equal_findings_of_several_tracks_are_one_row_with_every_place() -> None:
    second = replace(LEAD_IN, track="2", position=2, place="0:01.0", at_s=(1.0,))
    third = replace(LEAD_IN, track="3", position=3, place="0:07.5", at_s=(7.5,))
    other = replace(LEAD_IN, track="4", position=4, found="0.01 s")
    rows = by_words([LEAD_IN, second, third, other])
    assert [(row.track, row.tracks) for row in rows] == [("1 to 3", 3), ("4", 1)]
    assert rows[0].place == "track 2: 0:01.0; track 3: 0:07.5"
    assert rows[1] is other


def ceilings(*limits: float, must: bool = False) -> list[Notice]:
    """Notices about one track that is above the ceilings of so many specs."""
    specs = tuple(
        samples.spec(f"spec-{at}", f"Spec {at}", requirements=(samples.requirement("true_peak_max_dbtp", limit),))
        for at, limit in enumerate(limits)
    )
    whole = samples.delivery(1, specs)
    parts = [
        replace(
            part,
            findings=(
                replace(
                    samples.over_ceiling(part.spec, 1), must=must, wanted=f"at most {limit:.2f} dBTP", subject="level"
                ),
            ),
        )
        for part, limit in zip(whole.parts, limits, strict=True)
    ]
    found = notices(replace(whole, parts=tuple(parts)))
    return [notice for notice in found if notice.rule == "true_peak_max_dbtp"]


def test_a_ceiling_is_remarked_on_once_for_a_track_by_its_strictest_limit() -> None:
    (remark,) = ceilings(-1.0, -2.0, -1.5, -2.0)
    assert remark.wanted == "at most -2.00 dBTP (the strictest of 3 limits)"
    assert remark.specs == ("Spec 0", "Spec 1", "Spec 2", "Spec 3")
    (remark,) = ceilings(-1.0, -1.0)
    assert remark.wanted == "at most -1.00 dBTP"


def test_what_keeps_files_from_being_ready_is_reported_for_every_limit() -> None:
    """Each spec refuses for itself: what is required of one file must not be read as required of another."""
    assert len(ceilings(-1.0, -2.0, must=True)) == 2


def test_the_strictest_limit_of_a_level_is_the_lowest() -> None:
    """No rule about levels has a number as its lower limit; one that had would need another order."""
    numeric = [rule.id for rule in rules().values() if rule.subject == "level" and rule.limit.get("type") != "object"]
    assert numeric
    assert all("_max" in rule for rule in numeric)


def test_every_waiver_is_printed_with_what_it_permits() -> None:
    """Of all tracks and specs, or of the named ones; a row stays when its spec is not part of this delivery."""
    given = (
        Waiver("true_peak_max_dbtp", "Ilse Merrow", "approved so", track=2, spec="cd-rate-16"),
        Waiver("lead_in_s", "", ""),
        Waiver("tail_s", "Ilse Merrow", "runs on", spec="somebody-else"),
    )
    rows = waivers(samples.delivery(2, waivers=given))
    assert rows == (
        WaivedRow("true_peak_max_dbtp", "2", "CD-rate files", "Ilse Merrow", "approved so"),
        WaivedRow("lead_in_s", "all", "every spec", "not supplied", "not supplied"),
        WaivedRow("tail_s", "all", "somebody-else", "Ilse Merrow", "runs on"),
    )


def test_the_tally_counts_each_answer_and_leaves_out_only_accepted_ones() -> None:
    answers = (Answer.MET, Answer.MET, Answer.NOT_MET, Answer.NOT_MEASURED)
    counts = counted([samples.finding(f"rule_{at}", "store-master-24", 1, each) for at, each in enumerate(answers)])
    assert counts == "4 checks: 2 met, 0 waived, 1 not met, 1 not measured"


def test_the_tally_of_a_file_that_is_ready_has_nothing_not_met() -> None:
    """What a spec only advises is a remark on its sheet, and to note here."""
    advice = samples.finding("tail_s", "store-master-24", 1, Answer.NOT_MET, must=False)
    assert advice.result is Result.REMARKS
    assert counted([advice]) == "1 check: 0 met, 0 waived, 0 not met, 1 to note, 0 not measured"


def counted(found: list[Finding]) -> str:
    whole = samples.delivery(1, samples.SPECS[:1])
    return tally(replace(whole, findings=(), parts=tuple(replace(part, findings=tuple(found)) for part in whole.parts)))


def test_a_file_that_could_not_be_made_is_one_row_for_all_specs_that_wanted_it() -> None:
    """The master is whole, but its files could not be written; another track has another reason."""
    whole = samples.delivery(2, samples.SPECS[:2])
    why = {1: "no space left on the disk", 2: "the encoder stopped"}
    left = [part for part in whole.parts if (part.track, part.spec) != (2, "cd-rate-16")]
    parts = [replace(part, problem=why[part.track]) for part in left]
    found = [one for one in notices(replace(whole, parts=tuple(parts))) if one.verdict.word == "unusable"]
    titles = tuple(spec.title for spec in samples.SPECS[:2])
    assert [(one.track, one.position, one.found, one.specs) for one in found] == [
        ("1", 1, "no space left on the disk", titles),
        ("2", 2, "the encoder stopped", titles[:1]),
    ]
    assert all(one.refuses and one.bearing == "must" for one in found)


def test_a_disc_that_could_not_be_written_is_named() -> None:
    """An image belongs to no track: its row stands before the tracks, with the name of the disc or side."""
    whole = samples.delivery(1, samples.SPECS[:1])
    spec = samples.SPECS[0]
    programme = Programme(spec.id, "1", Carrier("cd", 588), Pressing(), 44_100, (), 0, 150)
    image = Image(programme, Target("wav", "pcm", 44_100, 2, 16), "disc.wav", problem="no space left on the disk")
    (found,) = [one for one in notices(replace(whole, images=(image,))) if one.verdict.word == "unusable"]
    assert (found.track, found.position, found.specs) == ("release", None, (spec.title,))
    assert found.found == "disc 1: no space left on the disk"
