"""An approval of some tracks: what a change request takes back, and who approved what is left."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

from delivery.model.approval import NOT_APPROVED, Approval, CopyMarks, Earlier, combined, without
from delivery.model.copy_marks import compared_keys
from delivery.model.figure import Measurement, Reading
from delivery.model.part import Delivery, unapproved
from delivery.model.release import Release, Studio, Track
from delivery.model.source import Source

DAY, LATER, LAST = date(2026, 5, 12), date(2026, 5, 13), date(2026, 5, 14)
MARKS = (CopyMarks("Album"), CopyMarks("One"), CopyMarks("Two"), CopyMarks("Three"))
GIVEN = Approval("I. Merrow", LAST, ("aaaaaaaa", "bbbbbbbb", "cccccccc"), MARKS)


def test_a_change_request_takes_the_approval_of_its_tracks_back() -> None:
    left = without(GIVEN, [2])
    assert left == Approval(
        "I. Merrow", LAST, ("aaaaaaaa", "", "cccccccc"), (MARKS[0], MARKS[1], NOT_APPROVED, MARKS[3])
    )
    assert without(GIVEN, iter((1, 3))) == replace(
        GIVEN, audio_hashes=("", "bbbbbbbb", ""), label_copy=(MARKS[0], NOT_APPROVED, MARKS[2], NOT_APPROVED)
    )
    assert without(GIVEN, ()) == GIVEN
    assert without(GIVEN, (1, 2, 3)) is None
    assert without(None, (1,)) is None


def test_who_approved_the_tracks_that_are_left() -> None:
    """Track 1 by T. Varrick, track 2 by O. Tarn, track 3 by I. Merrow; the last of those left signs the whole."""
    tarn, varrick = Earlier("O. Tarn", LATER, (2,)), Earlier("T. Varrick", DAY, (1,))
    three = replace(GIVEN, earlier=(tarn, varrick))
    assert without(three, (1,)) == replace(without(GIVEN, (1,)), earlier=(tarn,))  # type: ignore[type-var]
    left = without(three, (3,))
    assert left is not None
    assert (left.by, left.dated, left.earlier) == ("T. Varrick", DAY, (tarn,))
    assert [left.given_for(at) for at in left.tracks] == [("T. Varrick", DAY), ("O. Tarn", LATER)]
    both = replace(GIVEN, earlier=(Earlier("O. Tarn", LATER, (1, 2)),))
    left = without(both, (2,))
    assert left is not None
    assert left.earlier == (Earlier("O. Tarn", LATER, (1,)),)


def test_a_second_approval_keeps_the_label_copy_of_the_tracks_approved_before() -> None:
    first = replace(GIVEN, audio_hashes=("aaaaaaaa", "", ""), label_copy=(*MARKS[:2], NOT_APPROVED, NOT_APPROVED))
    second = Approval("O. Tarn", LATER, ("", "bbbbbbbb", ""), (NOT_APPROVED, NOT_APPROVED, MARKS[2], NOT_APPROVED))
    whole = combined(first, second)
    assert whole.label_copy == (*MARKS[:3], NOT_APPROVED)
    assert whole.earlier == (Earlier("I. Merrow", LAST, (1,)),)
    newer = combined(first, replace(second, label_copy=(CopyMarks("Renamed"), *second.label_copy[1:])))
    assert newer.copy_at(0).title == "Renamed"
    same_person = combined(first, replace(second, by="I. Merrow", dated=LAST))
    assert same_person.earlier == ()
    again = combined(GIVEN, replace(second, audio_hashes=("", "dddddddd", "")))
    assert again.audio_hashes == ("aaaaaaaa", "dddddddd", "cccccccc")


TRACKS = tuple(Track(at, Path(f"{at}.wav"), name) for at, name in enumerate(("One", "Two", "Three"), start=1))


def masters(*hashes: str) -> tuple[Source, ...]:
    return tuple(
        Source(track, Measurement({"audio_hash": Reading(found)}) if found else None)
        for track, found in zip(TRACKS, hashes, strict=True)
    )


def test_an_approval_holds_for_exactly_this_audio() -> None:
    release = Release(Path("release.yaml"), "Album", "Merrow", TRACKS, approval=GIVEN)
    heard = masters("aaaaaaaa11", "bbbbbbbb22", "cccccccc33")
    assert Delivery(release, Studio(), (), heard, ()).approval_holds
    assert unapproved(release, heard) == ()
    changed = masters("aaaaaaaa11", "deadbeef22", "")
    assert not Delivery(release, Studio(), (), changed, ()).approval_holds
    assert [one.track.position for one in unapproved(release, changed)] == [2, 3]
    none_given = replace(release, approval=None)
    assert unapproved(none_given, heard) == heard
    assert not Delivery(none_given, Studio(), (), heard, ()).approval_holds


def test_label_copy_that_an_approval_covers() -> None:
    """Codes, names and notices; not where a track lies or goes, nor for whom the work is."""
    of_track, of_release = compared_keys(of_release=False), compared_keys(of_release=True)
    assert {"title", "version", "isrc", "composers", "explicit", "artists"} <= of_track
    assert {"title", "version", "artist", "label", "upc", "p_line", "c_line"} <= of_release
    assert not {"client", "isni"} & of_release
    assert not {"disc", "number", "side", "gap_before_s", "only_for", "not_for", "upc"} & of_track
