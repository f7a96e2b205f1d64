"""What nouns of the model answer about themselves, at their edges."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from delivery.model import registry
from delivery.model.approval import Approval, CopyMarks, Earlier, combined
from delivery.model.ascii_text import in_ascii, sayable
from delivery.model.audit import Audit, CodeClash, RuleCount
from delivery.model.bounds import Bound, rounded
from delivery.model.figure import Measurement, Reading
from delivery.model.finding import Answer, Finding, Result, Weight, worst
from delivery.model.recording import Recording
from delivery.model.reference import Spread
from delivery.model.release import Release
from delivery.model.sections import (
    MeasuredSection,
    Section,
    SectionLevels,
    SectionSource,
    SectionStart,
    SongSections,
    stated_sections,
)
from delivery.model.source import Source
from delivery.model.track import Credit, Track
from delivery.model.trial import CodecForm
from delivery.model.unconfirmed import Unconfirmed, in_short, unconfirmed
from delivery.model.version import Piece, Version, VersionKind, kind_of

AT_MOST, AT_LEAST = Bound("f", -1.0, from_above=True), Bound("f", -1.0, from_above=False)


@pytest.mark.parametrize(("value", "holds"), [(-1.1, (True, False)), (-1.0, (True, True)), (-0.9, (False, True))])
def test_a_bound_includes_its_edge(value: float, holds: tuple[bool, bool]) -> None:
    assert (AT_MOST.holds(value), AT_LEAST.holds(value)) == holds


@pytest.mark.parametrize(
    ("value", "digits", "bounds", "text"),
    [
        (-0.996, 2, (), "-1.00"),
        (-0.996, 2, (AT_MOST,), "-0.996"),
        (-1.004, 2, (AT_MOST,), "-1.00"),
        (-1.004, 2, (AT_MOST, AT_LEAST), "-1.004"),
        (-0.001, 1, (), "0.0"),
        (-1.0 + 4e-9, 0, (AT_MOST,), "-0.999999996"),
        (-1.0 + 1e-10, 0, (AT_MOST,), "-0.9999999999"),
    ],
)
def test_as_many_decimals_as_the_bounds_need(value: float, digits: int, bounds: tuple[Bound, ...], text: str) -> None:
    assert rounded(value, digits, bounds) == text


def finding(answer: Answer, *, must: bool = True, weight: Weight = Weight.FACT) -> Finding:
    return Finding("r", "s", None, answer, must, weight)


@pytest.mark.parametrize(
    ("answer", "results"),
    [
        (Answer.MET, (Result.READY, Result.READY, Result.READY)),
        (Answer.ACCEPTED, (Result.READY, Result.READY, Result.READY)),
        (Answer.WAIVED, (Result.REMARKS, Result.REMARKS, Result.REMARKS)),
        (Answer.NOT_MET, (Result.NOT_READY, Result.REMARKS, Result.REMARKS)),
        (Answer.NOT_MEASURED, (Result.NOT_READY, Result.REMARKS, Result.REMARKS)),
    ],
)
def test_only_a_required_fact_refuses(answer: Answer, results: tuple[Result, ...]) -> None:
    """As a must about a fact, as a should, and as a must about a sign."""
    found = (finding(answer), finding(answer, must=False), finding(answer, weight=Weight.STRONG_SIGN))
    assert tuple(one.result for one in found) == results


def test_the_worst_result_wins() -> None:
    assert worst([]) is Result.READY
    assert worst([Result.REMARKS, Result.NOT_READY, Result.READY]) is Result.NOT_READY
    assert worst([Result.NOT_READY, Result.UNUSABLE]) is Result.UNUSABLE


@pytest.mark.parametrize(
    ("song", "difference", "outside"),
    [(5.0, 1.0, 0.0), (6.0, 2.0, 0.0), (7.5, 3.5, 1.5), (2.0, -2.0, 0.0), (1.0, -3.0, -1.0), (None, None, None)],
)
def test_a_song_beside_the_middle_half_of_its_peers(
    song: float | None, difference: float | None, outside: float | None
) -> None:
    spread = Spread(song, (2.0, 4.0, 6.0), 4.0, 2.0, 6.0)
    assert (spread.difference, spread.outside) == (difference, outside)
    assert replace(spread, median=None).difference is None
    assert replace(spread, q25=None).outside is None
    assert replace(spread, q75=None).outside is None


def test_sections_end_where_the_next_begins_and_names_are_counted() -> None:
    starts = [
        SectionStart(name, at) for name, at in (("verse", 0.0), ("chorus", 10.0), ("verse", 20.0), ("coda", 30.0))
    ]
    assert stated_sections(starts, 30.0) == (
        Section("verse", 0.0, 10.0), Section("chorus", 10.0, 20.0), Section("verse 2", 20.0, 30.0),
    )  # fmt: skip
    assert stated_sections(starts[1:2], 10.0) == ()
    assert stated_sections([], 10.0) == ()


DAY, LATER = date(2026, 5, 12), date(2026, 5, 13)
MARKS = (CopyMarks("Album"), CopyMarks("One"), CopyMarks("Two", {"isrc": "aa"}))
APPROVED = Approval("I. Merrow", DAY, ("aaaaaaaa", "", "cccccccc"), MARKS, (Earlier("T. Varrick", LATER, (3,)),))


def test_an_approval_by_position() -> None:
    """Counting from 1; a hash may be shortened in the release file, and none approves nothing."""
    assert APPROVED.covers(1, "aaaaaaaabbbb")
    assert not APPROVED.covers(1, "aaaaaaa")
    assert not APPROVED.covers(2, "")
    assert not APPROVED.covers(4, "aaaaaaaa")
    assert (APPROVED.hash_at(3), APPROVED.hash_at(4), APPROVED.tracks) == ("cccccccc", "", (1, 3))
    assert [APPROVED.copy_at(at).title for at in range(4)] == ["Album", "One", "Two", ""]
    assert (APPROVED.given_for(1), APPROVED.given_for(3)) == (("I. Merrow", DAY), ("T. Varrick", LATER))
    assert len(APPROVED.label_copy_hash) == 64
    assert replace(APPROVED, label_copy=()).label_copy_hash == ""
    assert replace(APPROVED, label_copy=MARKS[:2]).label_copy_hash != APPROVED.label_copy_hash


def test_a_new_approval_of_some_tracks_keeps_those_it_does_not_name() -> None:
    new = Approval("O. Tarn", LATER, ("", "bbbbbbbb", ""))
    whole = combined(APPROVED, new)
    assert whole.audio_hashes == ("aaaaaaaa", "bbbbbbbb", "cccccccc")
    assert [whole.given_for(at) for at in (1, 2, 3)] == [
        ("I. Merrow", DAY), ("O. Tarn", LATER), ("T. Varrick", LATER),
    ]  # fmt: skip
    assert combined(None, new) is new
    shorter = combined(APPROVED, Approval("O. Tarn", LATER, ("", "bbbbbbbb")))
    assert shorter.audio_hashes == ("aaaaaaaa", "bbbbbbbb")


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("Low Water (Instrumental)", VersionKind.INSTRUMENTAL), ("low_water_inst.wav", VersionKind.INSTRUMENTAL),
        ("Clean", VersionKind.CLEAN), ("a cappella", VersionKind.A_CAPPELLA), ("Acapella", VersionKind.A_CAPPELLA),
        ("Vocal only", VersionKind.A_CAPPELLA), ("TV mix", VersionKind.TV), ("Radio Edit", VersionKind.EDIT),
        ("30s", VersionKind.EDIT), ("cut-down 60 sec", VersionKind.EDIT),
        ("Clean instrumental", VersionKind.INSTRUMENTAL),
        ("Cleaner", None), ("Live", None), ("TVs", None), ("", None),
    ],
)  # fmt: skip
def test_the_kind_a_version_states(text: str, kind: VersionKind | None) -> None:
    assert kind_of(text) is kind


def test_a_version_in_one_piece_begins_later_than_its_main() -> None:
    version = Version(44_100, 100, 90, (Piece(5, 12, 80),))
    assert (version.whole, version.offset_frames) == (True, 7)
    assert not replace(version, pieces=(*version.pieces, Piece(90, 95, 5))).whole


@pytest.mark.parametrize(
    ("text", "written", "can_be_said"),
    [
        ("Łódź", "Lodz", True), ("Straße", "Strasse", True), ("Æsir – ‘x’", "AEsir - 'x'", True), ("Øre", "Ore", True),
        ("Чай", "Chay", True), ("🌊", "", False), ("", "", False), ("½", "1-2", True), ("e\u0301", "e", True),
    ],
)  # fmt: skip
def test_text_in_ascii(text: str, written: str, can_be_said: bool) -> None:
    assert in_ascii(text) == written
    assert sayable(text) is can_be_said
    assert not sayable("港")


def a_release(*tracks: Track, **more: Any) -> Release:
    return Release(**{"path": Path("/release.yaml"), "title": "Album", "artist": "Merrow", "tracks": tracks, **more})


def test_values_to_confirm_in_order_and_in_one_sentence() -> None:
    guests = (Credit("Merrow"), Credit("F", "featured"))
    tracks = (
        Track(1, Path("/m/1.wav"), "One", to_confirm=("title", "isrc")),
        Track(2, Path("/m/2.wav"), "Two", artists=guests, to_confirm=("title", "artists", "file")),
    )
    found = unconfirmed(a_release(*tracks, to_confirm=("tracks", "title", "label")))
    assert found == (
        Unconfirmed("tracks", None, "One, Two", "tracks"),
        Unconfirmed("title", None, "Album", "title"),
        Unconfirmed("title", 1, "One", "tracks/0/title"),
        Unconfirmed("title", 2, "Two", "tracks/1/title"),
        Unconfirmed("artists", 2, "Merrow, F (featured)", "tracks/1/artists"),
        Unconfirmed("file", 2, "2.wav", "tracks/1/file"),
    )
    assert [one.address for one in found[1:3]] == ["title", "title:1"]
    assert in_short(found) == (
        "title 'Album'; order of the tracks; artists of track 2 ('Merrow, F (featured)'); "
        "file of track 2 ('2.wav'); title of tracks 1, 2 ('One', 'Two')"
    )


@pytest.mark.parametrize(("count", "more"), [(5, ""), (6, " and 1 more")])
def test_five_values_are_quoted_the_others_counted(count: int, more: str) -> None:
    found = [Unconfirmed("release_date", number, "x", "") for number in range(1, count + 1)]
    numbers = ", ".join(str(number) for number in range(1, count + 1))
    assert in_short(found) == f"release date of tracks {numbers} ('x', 'x', 'x', 'x', 'x'{more})"


def test_members_are_sorted_and_a_second_one_of_a_name_is_refused() -> None:
    assert list(registry.register(["bb", "a", "ccc"], len)) == ["1", "2", "3"]
    with pytest.raises(ValueError, match="two members are called '1': 'a' and 'b'"):
        registry.register(["a", "b"], len)


def test_a_recording_is_named_with_its_version() -> None:
    one = Recording("r", "Album", 1, 1, "", "", 1.0, "Low Water", "Live")
    assert (one.named, replace(one, version="").named) == ("Low Water (Live)", "Low Water")


@pytest.mark.parametrize(
    ("only_for", "not_for", "goes"),
    [((), (), True), (("cd",), (), True), (("lp",), (), False), ((), ("cd",), False), (("cd",), ("cd",), False)],
)
def test_a_track_goes_where_it_is_stated(only_for: tuple[str, ...], not_for: tuple[str, ...], goes: bool) -> None:
    assert Track(1, Path("/1.wav"), "", only_for=only_for, not_for=not_for).goes_to("cd") is goes


def test_how_far_each_section_is_above_the_one_before_it() -> None:
    measured = tuple(
        MeasuredSection(Section(str(at), at, at + 1), SectionLevels(lufs, -6.0, None, 12.0))
        for at, lufs in enumerate((-14.0, -11.5, -12.0))
    )
    assert SongSections("One", SectionSource.FOUND, measured).contrasts_lu == (2.5, -0.5)
    assert SongSections("One", SectionSource.FOUND, measured[:1]).contrasts_lu == ()


def test_a_codec_as_on_the_command_line() -> None:
    assert str(CodecForm("mp3", 320)) == "mp3:320"
    assert str(CodecForm("mp3", vbr_quality=0)) == "mp3:v0"


def test_a_place_in_the_release_file_and_what_only_looks_like_one() -> None:
    release = a_release(lines={"tracks": 4, "tracks/0/isrc": 9})
    assert release.place("tracks/0/isrc") == "release.yaml:9"
    assert release.place("tracks/1/title") == "release.yaml:4"
    assert release.place("label") == "release.yaml"
    assert release.is_place("release.yaml")
    assert release.is_place("release.yaml:9")
    assert not [text for text in ("release.yaml:x", "", "other.yaml:9") if release.is_place(text)]


def test_texts_of_a_release_and_of_a_track_by_field() -> None:
    release = a_release(Track(1, Path("1.wav"), "One", texts=(("mood", "calm"),)), texts=(("series", "Tides"),))
    assert (release.text("series"), release.text("mood")) == ("Tides", "")
    assert (release.tracks[0].text("mood"), release.tracks[0].text("series")) == ("calm", "")


def test_a_master_is_named_by_its_address_or_its_path() -> None:
    source = Source(Track(1, Path("/m/1.wav"), "One"), None)
    assert source.place == str(Path("/m/1.wav"))
    assert replace(source, address="ssh://studio/m/1.wav").place == "ssh://studio/m/1.wav"
    assert source.audio_hash == ""
    assert replace(source, measurement=Measurement({})).audio_hash == ""


def test_one_code_on_several_recordings_or_several_on_one() -> None:
    assert CodeClash(("ZZOSL2600001",), ("1.wav", "2.wav")).one_code
    assert not CodeClash(("ZZOSL2600001", "ZZOSL2600002"), ("1.wav", "2.wav")).one_code


@pytest.mark.parametrize(
    ("must", "not_met", "not_measured", "is_open"),
    [(True, 1, 0, True), (True, 0, 1, True), (True, 0, 0, False), (False, 3, 3, False)],
)
def test_an_audit_is_open_while_a_must_is_not_answered(
    must: bool, not_met: int, not_measured: int, is_open: bool
) -> None:
    rules = (RuleCount("cd", "isrc", must, not_met, not_measured, "1.wav"),)
    assert Audit(("/m",), ("cd",), 1, 0, 0, {}, rules, (), (), (), (), 1.0, 0).is_open is is_open


def test_a_figure_without_a_value_states_why() -> None:
    measured = Measurement({"bits": Reading.missing("a lossy coding has none"), "channels": Reading(0)})
    assert measured["bits"] == Reading(None, "a lossy coding has none")
    assert (measured["bits"].exists, measured["channels"].exists) == (False, True), "0 is a value"
    assert [measured.value(name) for name in ("bits", "channels", "rate_hz")] == [None, 0, None]
    assert (len(measured), list(measured)) == (2, ["bits", "channels"])
    changed = measured.with_readings({"bits": Reading(16)})
    assert (changed.value("bits"), changed.value("channels"), measured.value("bits")) == (16, 0, None)
