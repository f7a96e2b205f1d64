"""Who approved what, who receives which tracks, and the log: sentences of the sheet, one by one."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from delivery.model.approval import Approval, CopyMarks, Earlier
from delivery.model.figure import Measurement, Reading
from delivery.model.finding import Answer, Finding, Weight
from delivery.model.part import Delivery, Part, Selection, Source
from delivery.model.release import Acceptance, LogEntry, Release, Studio, Track
from delivery.model.release_for import release_for
from delivery.model.spec import Spec
from delivery.report.view.approval import REMEDY, approval, covered, remedy
from delivery.report.view.log import QUIET, VOID, accepted, clock_of, log
from delivery.report.view.make import view_of
from delivery.report.view.parts import ReportContext
from delivery.report.view.selections import deliveries, goes_to, programme_totals, running_orders, several, total

DAY, LATER = date(2026, 5, 12), date(2026, 5, 13)
TRACKS = tuple(Track(at, Path(f"{at}.wav"), name, at) for at, name in enumerate(("One", "Two", "Three"), start=1))
HASHES = ("aaaaaaaa11", "bbbbbbbb22", "cccccccc33")
SOURCES = tuple(
    Source(track, Measurement({"audio_hash": Reading(found), "duration_s": Reading(60.0 * track.position)}))
    for track, found in zip(TRACKS, HASHES, strict=True)
)
GIVEN = Approval("I. Merrow", DAY, tuple(one[:8] for one in HASHES))
RELEASE = Release(Path("release.yaml"), "Album", "Merrow", TRACKS)
SPECS = tuple(Spec(name, title, "", DAY, ()) for name, title in (("cd", "A disc"), ("lp", "A record"), ("x", "")))


def delivery(given: Approval | None = GIVEN, **more: object) -> Delivery:
    release = replace(RELEASE, approval=given, **more)  # type: ignore[arg-type]
    return Delivery(release, Studio(), SPECS, SOURCES, ())


def test_all_masters_are_approved() -> None:
    one = delivery()
    assert approval(one) == (
        "These masters are approved: I. Merrow, 2026-05-12. Audio hashes approved: "
        "1 aaaaaaaa, 2 bbbbbbbb, 3 cccccccc. Titles and codes are not part of this approval."
    )
    assert (remedy(one), covered(one)) == ("", ("1", "2", "3"))


def test_a_track_that_waits_for_its_approval() -> None:
    one = delivery(replace(GIVEN, audio_hashes=("aaaaaaaa", "", "cccccccc")))
    assert approval(one) == (
        "Tracks 1 and 3 approved: I. Merrow, 2026-05-12. Audio hashes approved: 1 aaaaaaaa, 3 cccccccc. "
        "Titles and codes are not part of this approval. Not approved yet: track 2."
    )
    assert (remedy(one), covered(one)) == (REMEDY, ("1", "3"))
    two = approval(delivery(replace(GIVEN, audio_hashes=("aaaaaaaa", "", ""))))
    assert two.startswith("Track 1 approved: ")
    assert two.endswith(" Not approved yet: tracks 2 and 3.")


def test_an_approval_of_other_audio_is_none_of_these_files() -> None:
    other = delivery(replace(GIVEN, audio_hashes=("aaaaaaaa", "deadbeef")))
    assert approval(other) == (
        "Not an approval of these files: I. Merrow, 2026-05-12, was given for other audio. Tracks that differ, by "
        "audio hash: 2 (approved deadbeef, now bbbbbbbb), 3 (approved none, now cccccccc)."
    )
    unread = replace(delivery(), sources=(SOURCES[0], replace(SOURCES[1], measurement=None), SOURCES[2]))
    assert "2 (approved bbbbbbbb, now unreadable)." in approval(unread)
    assert covered(unread) == ("1", "3")


def test_a_name_without_hashes_approves_nothing() -> None:
    bare = delivery(None, approved_by="A. Other")
    assert approval(bare) == "Name stated without audio hashes: A. Other; not an approval of these files."
    assert (remedy(bare), covered(bare)) == (REMEDY, ())
    assert (approval(delivery(None)), remedy(delivery(None))) == ("", "")


def test_several_people_approved_with_the_tracks_of_each() -> None:
    given = replace(GIVEN, earlier=(Earlier("O. Tarn", LATER, (1, 3)),))
    assert "approved: 1 and 3: O. Tarn, 2026-05-13; 2: I. Merrow, 2026-05-12. " in approval(delivery(given))


def test_label_copy_that_was_approved_with_the_masters() -> None:
    given = replace(GIVEN, label_copy=(CopyMarks("Album"), *(CopyMarks(track.title) for track in TRACKS)))
    whole = delivery(given)
    assert approval(whole).endswith(f"Label copy approved with them: {given.label_copy_hash[:8]}.")
    found = Finding("approved", "cd", 1, Answer.NOT_MET, True, Weight.FACT, "track 1: other title")
    findings = (
        found,
        replace(found, spec="lp"),
        replace(found, answer=Answer.WAIVED, found="track 2: other ISRC"),
        replace(found, answer=Answer.MET, found="never"),
        replace(found, rule="isrc", found="never"),
    )
    assert approval(replace(whole, findings=findings)).endswith(
        "Label copy is not as approved: track 1: other title; track 2: other ISRC."
    )


ROUTED = replace(
    RELEASE,
    tracks=(replace(TRACKS[0], not_for=("lp",)), TRACKS[1], replace(TRACKS[2], only_for=("lp", "cd"))),
)


def routed(release: Release = ROUTED) -> Delivery:
    selections = tuple(Selection((spec.id,), release_for(release, spec.id), {}, (), ()) for spec in SPECS)
    return Delivery(release, Studio(), SPECS, SOURCES, (), selections=selections)


def test_who_receives_which_tracks() -> None:
    """The record leaves out song 1 and renumbers the rest; a spec without a title is shown by its id."""
    context = ReportContext(routed(), {})
    assert list(running_orders(context)) == [
        "A disc: every track; 3 tracks, 6:00 without gaps.",
        "A record: tracks 2, 3, numbered 1, 2; 2 tracks, 5:00 without gaps.",
        "x: tracks 1, 2; 2 tracks, 3:00 without gaps.",
    ]
    facts = [[(fact.label, fact.value) for fact in goes_to(context, track)] for track in ROUTED.tracks]
    assert facts == [
        [("Goes to", "A disc and x"), ("Not for", "A record")],
        [("Goes to", "A disc, A record as track 1 and x")],
        [("Goes to", "A disc and A record as track 2"), ("Not for", "x")],
    ]
    assert several(context.delivery)


def test_one_sheet_a_recipient_where_they_receive_different_tracks() -> None:
    whole = replace(routed(), unnamed=("spare.wav",))
    found = dict(deliveries(whole))
    assert [len(one.sources) for one in found.values()] == [3, 2, 2]
    assert list(found) == ["A disc", "A record", "x"]
    assert [one.unnamed for one in found.values()] == [("spare.wav",), (), ()], "said once"


def test_no_routes_are_printed_where_all_receive_every_track() -> None:
    alike = routed(RELEASE)
    context = ReportContext(alike, {})
    assert not several(alike)
    assert list(running_orders(context)) == []
    assert goes_to(context, TRACKS[0]) == ()
    assert list(deliveries(alike)) == [("", alike)]


def test_a_running_time_is_given_only_if_every_track_was_measured() -> None:
    assert total(SOURCES[:1]) == "1 track, 1:00 without gaps"
    assert total((SOURCES[0], replace(SOURCES[1], measurement=None))) == "2 tracks; not all of them could be measured"
    assert total((replace(SOURCES[0], measurement=Measurement({})),)) == "1 track; not all of them could be measured"


def test_loudness_of_the_whole_programme_is_printed_where_it_is_known() -> None:
    from delivery.meters import figures

    loud = replace(delivery(), album={"integrated_lufs": -13.04, "true_peak_dbtp": -1.0})
    assert programme_totals(loud, figures()) == (
        "3 tracks, 6:00 without gaps; as one programme: loudness -13.0 LUFS, highest true peak -1.00 dBTP"
    )
    assert programme_totals(delivery(), figures()) == "3 tracks, 6:00 without gaps"


def test_the_log_in_order_of_tracks_and_times() -> None:
    entries = (
        LogEntry("hum", "I. Merrow", track=2),
        LogEntry("click", "I. Merrow", "left as it is", track=1, at_s=61.0, channel="left"),
        LogEntry("noise", "", track=1, at_s=12.3456),
        LogEntry("all good", "O. Tarn"),
        LogEntry("gone", "O. Tarn", track=9, at_s=1.0),
    )
    rows = log(delivery(qc_log=entries))
    assert [(row.track, row.time, row.what, row.decision, row.by, row.channel) for row in rows] == [
        ("release", "throughout", "all good", "open", "O. Tarn", ""),
        ("1", "0:12.346", "noise", "open", "not supplied", ""),
        ("1", "1:01, after the end", "click", "left as it is", "I. Merrow", "left"),
        ("2", "throughout", "hum", "open", "I. Merrow", ""),
        ("9", "0:01", "gone", "open", "O. Tarn", ""),
    ]
    assert [row.position for row in rows] == [None, 1, 1, 2, 9]


@pytest.mark.parametrize(
    ("at_s", "clock"), [(None, "throughout"), (0.0, "0:00"), (61.5, "1:01.500"), (3600.0, "1:00:00")]
)
def test_a_time_as_it_was_written(at_s: float | None, clock: str) -> None:
    assert clock_of(at_s) == clock


def test_accepted_remarks_follow_the_audio_and_are_void_without_it() -> None:
    """Accepted on track 1, whose audio is now track 2; a hash that no master has; a rule that remarks nothing."""
    heard = Finding("clicks", "cd", 2, Answer.ACCEPTED, True, Weight.WEAK_SIGN, "3 clicks")
    findings = (heard, replace(heard, spec="x"), replace(heard, found="4 clicks"), replace(heard, answer=Answer.MET))
    given = (
        Acceptance("clicks", 1, "bbbbbbbb", "I. Merrow", "a shaker"),
        Acceptance("clicks", 3, "deadbeef", "I. Merrow", ""),
        Acceptance("clicks", 7, "deadbeef", "", "why not"),
        Acceptance("hum", 1, "aaaaaaaa", "O. Tarn", "an amplifier"),
    )
    whole = replace(delivery(accepted=given), parts=(Part("cd", 2, None, findings),))
    assert [(row.track, row.position, row.found, row.specs, row.by, row.why) for row in accepted(whole)] == [
        ("2", 2, "3 clicks; 4 clicks", "A disc, x", "I. Merrow", "a shaker"),
        ("3", None, VOID, "", "I. Merrow", "not supplied"),
        ("7", None, VOID, "", "not supplied", "why not"),
        ("1", 1, QUIET, "", "O. Tarn", "an amplifier"),
    ]


def test_the_sheet_prints_the_approval_in_full() -> None:
    assert view_of(delivery(), {}).approval == approval(delivery())
