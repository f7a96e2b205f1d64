"""What changed since an earlier delivery, and what was delivered to whom: every sentence."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from delivery.ledger.handovers import Out
from delivery.ledger.past import Handover
from delivery.model.changes import About, Audio, Changes, Listed, Move, Tone, Value
from delivery.report.view.changes import changes_lines, headline, label, not_compared
from delivery.report.view.history import (
    FoundBy,
    History,
    approved,
    details,
    handed,
    last,
    open_row,
    opening,
    release,
    row,
    state,
)
from tests.ledger.deliveries import file_of, past, recording

SAME = Audio("1", "One", same_samples=True)
OTHER = Audio("1", "One", same_samples=False, level_db=0.0)


def changes(**more: Any) -> Changes:
    return Changes("revision 1", "revision 2", **more)


def line(**more: Any) -> str:
    """The one sentence about a track with other audio."""
    (found,) = changes_lines(changes(audio=(replace(OTHER, **more),)))
    return found.removeprefix("Track 1, One: ").removesuffix(".")


def value(about: About, key: str, before: Any, after: Any, track: str = "") -> tuple[str, ...]:
    return changes_lines(changes(values=(Value(about, key, before, after, track, "One" if track else ""),)))


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "other samples; level, length, beginning, end and tone as before"),
        ({"level_db": None}, "level not known"),
        ({"unknown": "the file is gone."}, "audio not compared: the file is gone"),
        ({"level_db": 0.094}, "other samples; level, length, beginning, end and tone as before"),
        ({"level_db": 0.095}, "0.1 dB louder"),
        ({"level_db": -1.25, "length_s": 0.0005}, "1.2 dB quieter, 0.001 s longer"),
        ({"length_s": -1.204}, "1.204 s shorter"),
        ({"length_s": 0.0004}, "other samples; level, length, beginning, end and tone as before"),
        ({"head_s": 0.005, "tail_s": -0.5}, "0.01 s more silence at the beginning, 0.50 s less silence at the end"),
        ({"head_s": 0.0049}, "other samples; level, length, beginning, end and tone as before"),
        ({"level_db": 1.0, "head_s": 0.099}, "1.0 dB louder"),
        ({"level_db": 1.0, "tail_s": 0.1}, "1.0 dB louder, 0.10 s more silence at the end"),
        ({"level_db": None, "tail_s": 0.05}, "level not known, 0.05 s more silence at the end"),
        ({"form": ("96000 24 2", "44100 16 1")}, "now 44.1 kHz, 16 bit, 1 channel (was 96 kHz, 24 bit, 2 channels)"),
        ({"form": ("96000 None 2", "None 16 None")},
         "now unknown rate, 16 bit, unknown channels (was 96 kHz, 2 channels)"),
        ({"tone": (Tone(80.0, 0.0, 1.5), Tone(None, 10_000.0, -0.84))},
         "other tone at equal loudness (+1.5 dB below 80 Hz and -0.8 dB above 10 kHz)"),
        ({"tone": (Tone(250.0, 80.0, 1.0), Tone(1_000.0, 250.0, 1.0), Tone(4_000.0, 1_000.0, 1.0),
                   Tone(10_000.0, 4_000.0, 1.0))},
         "other tone at equal loudness (+1.0 dB 80 to 250 Hz, +1.0 dB 250 Hz to 1 kHz, +1.0 dB 1 to 4 kHz and "
         "+1.0 dB 4 to 10 kHz)"),
    ],
)  # fmt: skip
def test_other_audio(more: dict[str, Any], said: str) -> None:
    assert line(**more) == said


def test_unchanged_tracks_are_in_one_sentence_beside_others() -> None:
    audio = (
        SAME,
        replace(SAME, track="2"),
        replace(SAME, track="3"),
        replace(SAME, track="4", same_bytes=False),
        OTHER,
    )
    assert changes_lines(changes(audio=audio))[1:] == (
        "Track 4: same samples in another file (header, chunks or tags).",
        "Tracks 1 to 3: same samples.",
    )
    assert changes_lines(changes(audio=(SAME,))) == ()
    assert changes_lines(changes(audio=(SAME,), added=(Listed("2", "Two"),))) == (
        "Track 1: same samples.", "Track 2, Two: new on the release.",
    )  # fmt: skip
    assert changes_lines(changes(audio=(SAME,), removed=(Listed("2", "Two"),)))[1] == (
        "Track 2, Two: no longer on the release."
    )


def test_how_much_differs_in_one_sentence() -> None:
    one = Value(About.TITLES, "title", "A", "B")
    assert headline(changes(audio=(SAME,))) == "Nothing has changed since revision 1."
    rewrapped = replace(SAME, same_bytes=False)
    assert headline(changes(audio=(rewrapped,))) == (
        "Compared with revision 1: the masters are other files with the same samples."
    )
    assert headline(changes(audio=(SAME,), values=(one,))) == "Compared with revision 1: same audio, 1 change."
    assert headline(changes(values=(one, one))) == "Compared with revision 1: 2 other changes."
    many = changes(
        audio=(OTHER, OTHER), added=(Listed("3", "C"),), removed=(Listed("2", "B"), Listed("4", "D")),
        moved=(Move("1", "2", "A"),), values=(one,),
    )  # fmt: skip
    assert headline(many) == (
        "Compared with revision 1: 2 tracks with new audio, 1 new track, 2 tracks left out, 1 track with another "
        "number and 1 other change."
    )
    assert changes_lines(many)[4] == "Track 4, D: no longer on the release."
    assert "Track numbers: 2 A (was 1)." in changes_lines(many)
    assert not_compared(1) == ""
    assert not_compared(2) == "No earlier revision to compare with was known where this was made."


@pytest.mark.parametrize(
    ("about", "key", "before", "after", "said"),
    [
        (About.CODES, "isrc", None, "ZZOSL2600001", "ISRC now ZZ-OSL-26-00001 (was not stated)."),
        (About.GAPS, "gap_before_s", 2.0, 2.5, "Gap before now 2.5 s (was 2 s)."),
        (About.LABEL_COPY, "instrumental", False, True, "Instrumental now yes (was no)."),
        (About.LABEL_COPY, "p_line", "", "2026 O", "℗ now 2026 O (was not stated)."),
        (About.LABEL_COPY, "some_new_key", {"a": 1, "b": ""}, ["x", "y"], "Some new key now x, y (was 1)."),
        (About.CREDITS, "composers", ["Ada"], ["Bo", "Cy"], "Composers: added Bo; added Cy; removed Ada."),
        (About.CREDITS, "composers", [], [], "Composers: stated otherwise."),
        (About.CREDITS, "composers", ["Ada", "Bo"], ["Bo", "Ada"], "Composers: in another order."),
        (About.PROGRAM, "version", "1.0", "1.1", "Made by version 1.1 of the program (was 1.0)."),
        (About.SPECS, "cd", None, {"title": "A disc"}, "Spec cd: new in this delivery (A disc)."),
        (About.SPECS, "cd", {"title": "A disc"}, None, "Spec cd: no longer in this delivery (A disc)."),
        (About.SPECS, "cd", {"edition": ""}, {"edition": "2"}, "Spec cd: edition 2 (was not stated)."),
        (About.SPECS, "cd", {"edition": "", "digest": "aaaaaaaaaa"}, {"edition": "", "digest": "bbbbbbbbbb"},
         "Spec cd: other contents, digest bbbbbbbb (was aaaaaaaa)."),
        (About.SPECS, "waivers", {"edition": "", "digest": "a", "checked": "2026-01-01"},
         {"edition": "", "digest": "a", "checked": "2026-02-01"},
         "Spec waivers: checked 2026-02-01 (was 2026-01-01)."),
        (About.ARTWORK, "artwork", None,
         {"width_px": 3000, "height_px": 2000, "kind": "jpeg", "sha256": "abcdef0123456789"},
         "Artwork: 3000 × 2000 px, jpeg, abcdef01 (was: none)."),
        (About.APPROVAL, "approval", None, {"by": "I. Merrow", "date": "2026-05-12", "holds": True},
         "Approval: I. Merrow, 2026-05-12, of these masters (was: none)."),
        (About.APPROVAL, "approval", {"by": "I. Merrow", "date": None, "holds": False}, None,
         "Approval: none (was: I. Merrow, no date, of other audio)."),
        (About.APPROVAL, "approval", {"by": "A", "date": "d", "holds": False, "tracks": ["2"]},
         {"by": "A", "date": "d", "holds": False, "tracks": ["1", "2", "3"]},
         "Approval: A, d, of tracks 1 to 3 (was: A, d, of track 2)."),
        (About.STUDIO, "engineer", "A", "B", "Studio, Engineer now B (was A)."),
    ],
)  # fmt: skip
def test_a_value_that_differs(about: About, key: str, before: Any, after: Any, said: str) -> None:
    assert value(about, key, before, after) == (said,)


def test_a_value_of_a_track_is_named_with_it() -> None:
    assert value(About.TITLES, "title", "Low", "High", "2.1") == ("Track 2.1, One: Title now High (was Low).",)
    assert value(About.CREDITS, "composers", [], ["Bo"], "3") == ("Track 3, One: Composers: added Bo.",)


def test_waivers_acceptances_and_log_entries_that_came_and_went() -> None:
    waiver = {"rule": "isrc", "track": "2", "spec": "cd", "by": "I. Merrow", "why": "late"}
    assert value(About.WAIVERS, "waivers", None, [waiver]) == ("Waiver added: track 2, isrc, cd, I. Merrow, late.",)
    accepted = {"rule": "clicks", "track": None, "by": "", "why": "a shaker", "audio_hash": "never printed"}
    assert value(About.WAIVERS, "accepted", [accepted], []) == ("Acceptance removed: clicks, a shaker.",)
    entry = {"track": "1", "what": "hum", "decision": "", "by": "O. Tarn"}
    assert value(About.NOTES, "qc_log", [entry], [entry | {"decision": "kept"}]) == (
        "QC log entry added: track 1, hum, kept, O. Tarn.",
        "QC log entry removed: track 1, hum, O. Tarn.",
    )


def test_headings_of_values() -> None:
    assert (label("isrc"), label("qc_log"), label("anything_else")) == ("ISRC", "QC log", "Anything else")


SENT = Handover("Plant", "M. Fell", "2026-11-29")
PAST = past(songs=2, revision=2, handovers=(SENT,), approvals=(("I. Merrow", "2026-11-28"),), version="Deluxe")


def test_a_delivery_in_a_row() -> None:
    assert row(PAST) == (
        "2026-11-20", "OSL-014 Harbour Arithmetic (Deluxe), Merrow & the Glass Tide", "2", "Ada Fenn",
        "Plant 2026-11-29", "I. Merrow 2026-11-28",
    )  # fmt: skip
    bare = past(dated="", client="", catalogue_number="", artist="")
    assert row(bare) == ("not stated", "Harbour Arithmetic", "1", "-", "-", "-")
    twice = replace(
        PAST, handovers=(SENT, replace(SENT, recipient="Store")), approvals=(("A", ""), ("B", "2026-01-02"))
    )
    assert row(twice)[4:] == ("Plant 2026-11-29; Store 2026-11-29", "A; B 2026-01-02")
    assert release(bare) == "Harbour Arithmetic"
    assert approved(bare) == ""


def test_a_hand_over_in_a_sentence() -> None:
    assert handed(SENT) == "2026-11-29 to Plant by M. Fell"
    answered = replace(SENT, how="upload", answer="received", answer_day="2026-12-01")
    assert handed(answered) == "2026-11-29 to Plant by M. Fell (upload); answered 2026-12-01: received"


def test_the_last_delivery_of_a_release() -> None:
    assert last(PAST) == (
        "revision 2, dated 2026-11-20; 2026-11-29 to Plant by M. Fell; approved by I. Merrow 2026-11-28"
    )
    assert last(past(dated="")) == "revision 1; no hand-over noted; not approved"


def test_what_a_question_to_the_ledger_was_answered_with() -> None:
    def said(query: str, found_by: FoundBy, total: int) -> str:
        return opening(History(query, found_by, (), total))

    assert said("", FoundBy.TEXT, 0) == "The ledger has no delivery yet."
    assert said("low", FoundBy.ISRC, 0) == "low: not found in the ledger."
    assert said("", FoundBy.TEXT, 2) == "2 deliveries in the ledger."
    assert said("low", FoundBy.TEXT, 1) == "low: 1 delivery."
    assert said("ZZ", FoundBy.ISRC, 2) == "ZZ: 2 deliveries of this recording."
    assert said("a.wav", FoundBy.BYTES, 1) == "a.wav is, byte for byte, a file of 1 delivery."
    assert said("a.wav", FoundBy.SOUND, 1).startswith("a.wav has exactly the sound of a file of 1 delivery; its tags")
    assert said("a.wav", FoundBy.MASTER, 2) == (
        "a.wav has exactly the sound of a master from which the files of 2 deliveries were made."
    )
    assert said("rev 1", FoundBy.PACKAGE, 1) == "rev 1: this package is in the ledger."


def test_one_delivery_line_by_line() -> None:
    waiver = {"rule": "isrc", "track": 2, "by": "I. Merrow", "why": "late"}
    whole = replace(
        PAST, sealed_by="SHA256:abc", replaced=True, waivers=(waiver, {"rule": "upc", "by": "B", "why": "none"}),
        specs=({"id": "cd", "edition": "2", "checked": "2026-11-25"}, {"id": "lp"}),
        files=(file_of(1), replace(file_of(2), track=None)),
    )  # fmt: skip
    file = whole.files[0]
    assert list(details(whole, (file.path,), everything=False)) == [
        "OSL-014 Harbour Arithmetic (Deluxe), Merrow & the Glass Tide, revision 2, dated 2026-11-20",
        f"  this file    {file.path}: track 1, Song 1, ZZ-OSL-26-00001",
        "  content      2 songs, 2 files",
        "  specs        cd, edition 2, checked 2026-11-25; lp",
        "  client       Ada Fenn",
        "  handed over  2026-11-29 to Plant by M. Fell",
        "  approved     I. Merrow 2026-11-28",
        "  waived       isrc, track 2, by I. Merrow: late",
        "  waived       upc, by B: none",
        "  package      /deliveries/0a1b 2c3d",
        "               replaced by a later build in the same folder",
        "  fingerprint  0a1b 2c3d",
        "  sealed by    SHA256:abc",
    ]
    assert list(details(whole, (), everything=True))[-4:] == [
        f"  {file.path}: track 1, Song 1, ZZ-OSL-26-00001",
        f"    SHA-256 {file.sha256}, audio hash {file.audio_hash}",
        f"  {whole.files[1].path}",
        f"    SHA-256 {whole.files[1].sha256}, audio hash {whole.files[1].audio_hash}",
    ]


def test_a_delivery_of_the_first_ledger_of_which_little_is_known() -> None:
    old = past("", dated="", files=(), client="", recordings=(recording(1, isrc="", version="Live"),), path="")
    assert list(details(old, ("x",), everything=True)) == [
        "OSL-014 Harbour Arithmetic, Merrow & the Glass Tide, revision 1, dated not stated",
        "  this file    x",
        "  content      1 song",
        "  specs        cd, checked 2026-11-25",
        "  fingerprint  not known: recorded by an earlier version of this program",
    ]
    named = replace(old, files=(file_of(1),))
    assert list(details(named, (), everything=True))[-2] == f"  {file_of(1).path}: track 1, Song 1 (Live)"


@pytest.mark.parametrize(
    ("is_approved", "answered", "newer", "said"),
    [
        (False, False, 3, "not approved, no answer; revision 3 is built, not handed over to them"),
        (True, False, None, "no answer"), (False, True, None, "not approved"),
        (True, True, 3, "revision 3 is built, not handed over to them"), (True, True, None, ""),
    ],
)  # fmt: skip
def test_the_state_of_what_left(is_approved: bool, answered: bool, newer: int | None, said: str) -> None:
    handover = replace(SENT, answer="ok" if answered else "")
    out = Out(delivery=PAST, handover=handover, approved=is_approved, answered=answered, newer_revision=newer)
    assert state(out) == said
    assert open_row(out) == (
        "2026-11-29", "Plant", "OSL-014 Harbour Arithmetic (Deluxe), Merrow & the Glass Tide", "2", said,
    )  # fmt: skip
