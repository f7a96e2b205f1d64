"""What one recipient is shown of a delivery: its own, and nothing of the other recipients."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from delivery.model.carrier import Carrier, Programme
from delivery.model.chain import Target
from delivery.model.changes import About, Changes, Listed, Value
from delivery.model.figure import Measurement, Reading
from delivery.model.finding import Answer, Finding, Result, Weight
from delivery.model.part import Delivery, Image, Part, Selection
from delivery.model.release import Release, Studio, Track, Waiver
from delivery.model.source import Source
from delivery.model.spec import Spec

DAY = date(2026, 11, 25)
STORE, DISC, PLANT = (Spec(name, title, "", DAY, ()) for name, title in
                      (("cd-rate", "A store"), ("cd", "A disc"), ("plant", "Pressing plant")))  # fmt: skip
WAIVERS = (
    Waiver("isrc", "I. Merrow", "every spec"),
    Waiver("isrc", "I. Merrow", "the store", spec="cd-rate"),
    Waiver("isrc", "I. Merrow", "the plant", spec="plant"),
)
RELEASE = Release(Path("release.yaml"), "Album", "Merrow", (Track(1, Path("1.wav"), "One"),), waivers=WAIVERS)


def finding(spec: str, answer: Answer = Answer.NOT_MET) -> Finding:
    return Finding("isrc", spec, None, answer, True, Weight.FACT)


def image(spec: str) -> Image:
    carrier = Carrier("cd")
    programme = Programme(spec, "1", carrier, carrier.pressing, 44_100, (), 0, 0)
    return Image(programme, Target("wav", "pcm", 44_100, 2, 16), f"{spec}.wav")


def selection(*specs: str) -> Selection:
    return Selection(specs, RELEASE, {}, (), ())


WHOLE = Delivery(
    RELEASE,
    Studio(),
    (STORE, DISC, PLANT),
    (Source(RELEASE.tracks[0], Measurement({"audio_hash": Reading("ab12")})),),
    tuple(Part(spec, 1, None, ()) for spec in ("cd-rate", "cd", "plant")),
    findings=tuple(finding(spec) for spec in ("cd-rate", "cd", "plant")),
    remarks=("the sound is recorded twice", "cd-rate was checked long ago", "For Pressing plant: no cover", "cd: old"),
    images=(image("cd"), image("plant")),
    selections=(selection("cd-rate", "cd"), selection("plant")),
)


def test_a_recipients_own_sheet_has_nothing_of_the_others() -> None:
    shown = WHOLE.only(["cd-rate"])
    assert [spec.id for spec in shown.specs] == ["cd-rate"]
    assert [part.spec for part in shown.parts] == ["cd-rate"]
    assert [one.spec for one in shown.findings] == ["cd-rate"]
    assert [one.why for one in shown.release.waivers] == ["every spec", "the store"]
    assert [one.specs for one in shown.selections] == [("cd-rate",)]
    assert shown.images == ()
    assert (shown.changes, shown.sources) == (None, WHOLE.sources)
    assert [one.spec for one in WHOLE.only(["cd", "plant"]).images] == ["cd", "plant"]
    assert [one.specs for one in WHOLE.only(["cd", "plant"]).selections] == [("cd",), ("plant",)]


def test_remarks_about_other_recipients_are_left_out_and_no_others() -> None:
    """'cd' is the id of another spec, and also a part of the id 'cd-rate'."""
    assert WHOLE.only(["cd-rate"]).remarks == ("the sound is recorded twice", "cd-rate was checked long ago")
    assert WHOLE.only(["cd", "plant"]).remarks == (
        "the sound is recorded twice",
        "For Pressing plant: no cover",
        "cd: old",
    )


def changed(about: About, key: str, before: object, after: object) -> Value:
    return Value(about, key, before, after)


def test_changes_that_concern_a_recipient() -> None:
    """A waiver for every spec concerns all; a changed spec concerns its own recipient."""
    ours, theirs, every = ({"rule": "isrc", "spec": spec} for spec in ("cd-rate", "plant", None))
    values = (
        changed(About.TITLES, "title", "A", "B"),
        changed(About.SPECS, "cd-rate", None, {}),
        changed(About.SPECS, "plant", None, {}),
        changed(About.WAIVERS, "waivers", None, [ours, theirs]),
        changed(About.WAIVERS, "waivers", [every, theirs], None),
        changed(About.WAIVERS, "waivers", [theirs], [theirs]),
    )
    changes = Changes("revision 1", "revision 2", added=(Listed("2", "Two"),), values=values)
    assert replace(WHOLE, changes=changes).only(["cd-rate"]).changes == replace(
        changes,
        values=(
            values[0],
            values[1],
            changed(About.WAIVERS, "waivers", [], [ours]),
            changed(About.WAIVERS, "waivers", [every], []),
        ),
    )


@pytest.mark.parametrize(
    ("answers", "problem", "result"),
    [
        ((), "", Result.READY),
        ((Answer.MET, Answer.NOT_MET), "", Result.NOT_READY),
        ((Answer.WAIVED, Answer.MET), "", Result.REMARKS),
        ((Answer.MET,), "the disk is full", Result.UNUSABLE),
    ],
)
def test_the_result_of_a_file_is_its_worst(answers: tuple[Answer, ...], problem: str, result: Result) -> None:
    findings = tuple(finding("cd", answer) for answer in answers)
    assert replace(image("cd"), findings=findings, problem=problem).result is result
    part = Part("cd", 1, None, findings, problem=problem)
    assert part.result is result
    for whole in (replace(WHOLE, parts=(part,), images=(), findings=()),
                  replace(WHOLE, parts=(), images=(replace(image("cd"), findings=findings, problem=problem),),
                          findings=())):  # fmt: skip
        assert (whole.spec_result("cd"), whole.spec_result("plant"), whole.result) == (result, Result.READY, result)


def test_nothing_is_ready_while_values_wait_to_be_confirmed() -> None:
    ready = replace(WHOLE, findings=(), parts=(), images=())
    assert ready.result is Result.READY
    waiting = replace(ready, release=replace(RELEASE, to_confirm=("title",)))
    assert {waiting.spec_result(spec.id) for spec in WHOLE.specs} == {Result.NOT_READY}


def test_a_specs_own_view_of_a_delivery() -> None:
    """Its tracks, and the specs that receive the same; changes are of all tracks and therefore left out."""
    shown = replace(WHOLE, changes=Changes("revision 1", "revision 2")).for_spec("plant")
    assert ([spec.id for spec in shown.specs], shown.changes) == (["plant"], None)
    assert (shown.release, shown.selections) == (RELEASE, (WHOLE.selections[1],))
    assert [[one.spec for one in many] for many in (shown.parts, shown.images, shown.findings)] == [["plant"]] * 3
    assert [spec.id for spec in WHOLE.for_spec("cd").specs] == ["cd-rate", "cd"]
    assert WHOLE.for_spec("not among them") is WHOLE
    alone = replace(WHOLE, selections=(selection("cd-rate", "cd", "plant"),))
    assert alone.for_spec("plant") is alone


def test_a_mono_master_in_a_view_with_both_channels() -> None:
    doubled = Measurement({"channels": Reading(2)})
    sources = (replace(WHOLE.sources[0], doubled=doubled),)
    both = (replace(selection("cd-rate"), doubled=True), selection("cd", "plant"))
    views = replace(WHOLE, sources=sources, selections=both)
    assert views.for_spec("cd-rate").sources[0].measurement is doubled
    assert views.for_spec("cd").sources[0].measurement is WHOLE.sources[0].measurement
    only = replace(views, selections=(replace(both[0], specs=("cd-rate", "cd", "plant")),))
    assert only.for_spec("cd").sources[0].measurement is doubled
    assert replace(only, sources=WHOLE.sources).for_spec("cd").sources == WHOLE.sources
