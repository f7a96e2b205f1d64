"""PQ sheets, side sheets and lengths of sides: facts, rows and notes, from positions worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from delivery import figures
from delivery.model.carrier import Carrier, Index, Pressing, Programme, Song
from delivery.model.release import Cutting, Release, Studio
from delivery.model.subcode import CdText
from delivery.report.view.album import CarrierSheet, PartLength
from delivery.report.view.carrier import sheets
from delivery.report.view.disc import CLOCK as DISC_CLOCK
from delivery.report.view.lengths import length_line, lengths, minutes
from delivery.report.view.parts import ReportContext
from delivery.report.view.side import CLOCK, COLUMNS, TAPE_COLUMNS, UNTOUCHED
from tests.pack.papers.test_word_for_word import DISC, LIMITS, ON_DISC, RELEASE, TRACKS, cut, disc, requirement


def sheet(delivery: Any) -> CarrierSheet:
    (found,) = sheets(ReportContext(delivery, figures()))
    return found


def on_disc(*songs: Song, release: Release = RELEASE, carrier: Carrier = DISC) -> CarrierSheet:
    delivery, spec = disc(*(songs or ON_DISC), release=release)
    (image,) = delivery.images
    image = replace(image, programme=replace(image.programme, carrier=carrier))
    return sheet(replace(delivery, images=(image,), specs=(replace(spec, carrier=carrier),)))


def facts(found: Any) -> list[tuple[str, str]]:
    return [(fact.label, fact.value) for fact in found.facts]


def test_a_pq_sheet() -> None:
    found = on_disc()
    assert (found.title, found.file_name, found.notes, found.written) == (
        "PQ sheet",
        "pq-sheet.pdf",
        (DISC_CLOCK,),
        True,
    )
    assert facts(found) == [
        ("Catalogue number", "OSL-014"), ("UPC / EAN", "036000291452"), ("Media catalogue number", "0036000291452"),
        ("Label", "Ostrelune"), ("Engineer", "Ode Marrable"), ("Studio", "Slack Water"),
        ("Contact", "1 Quay, +00 123"), ("Dated", "2026-11-27"),
    ]  # fmt: skip
    (part,) = found.parts
    assert (part.name, part.pressed, part.total) == ("Disc 1", "", "00:19:00")
    assert facts(part) == [
        ("File", "OSL-014 disc 1.wav"), ("Form", "16-bit 44.1 kHz WAV"), ("Tracks", "2"), ("Samples", "749700"),
        ("Lead-out", "00:19:00"), ("True peak", "not measured"), ("Loudness", "not measured"),
        ("SHA-256", "ab" * 32), ("MD5", "cd" * 16),
    ]  # fmt: skip
    assert part.rows == (
        ("01", "Low Water", "00:00:00", "00:02:00", "00:10:00", "00:02:00", "ZZ-OSL-26-00001", "copy permitted"),
        ("02", 'The "Tide" (Live), Ines Quarrel', "00:12:00", "00:14:00", "00:05:00", "00:02:00", "not supplied",
         "copy prohibited, pre-emphasis"),
        ("", "index 2", "", "00:15:25", "", "", "", ""),
    )  # fmt: skip
    assert part.notes == (
        "The image begins at 00:02:00: the pause in front of it belongs to the disc and is not in the file.",
        "Filled up to a frame with silent samples: track 2 by 100.",
        "Index points are rounded down to the start of their frame, early by: index 2 of track 2 by 10 samples.",
        "Pre-emphasis (50/15 µs) is flagged on track 2, as stated: the masters came emphasised, nothing here was. Two "
        "channels, audio.",
        "CD-Text of the disc also has: genre Folk, disc OSL-014.",
        "CD-Text message of track 2: Play it loud",
    )
    (texts,) = part.more
    assert texts.rows == (
        ("disc", "Harbour (Deluxe)", "Merrow", "", "", ""),
        ("01", "Low Water", "Merrow", "", "Ada Quay", ""),
        ("02", 'The "Tide" (Live)', "Ines Quarrel", "Bo Stern", "", "Tam"),
    )
    assert sum(texts.shares) == pytest.approx(1)
    assert sum(found.shares) == pytest.approx(1)


def test_a_disc_of_which_little_is_stated() -> None:
    plain = replace(TRACKS[0], pre_emphasis=False), replace(TRACKS[1], pre_emphasis=False, cd_text=CdText())
    bare = replace(RELEASE, tracks=plain, genre="", catalogue_number="", label="", upc="", dated=None)
    delivery, _ = disc(replace(ON_DISC[0]), release=bare)
    found = sheet(replace(delivery, studio=Studio()))
    assert {value for _, value in facts(found)} == {"not supplied", "not stated"}
    assert found.parts[0].notes[1:] == ("Pre-emphasis off, two channels, audio.",)


def test_a_disc_that_was_not_written() -> None:
    delivery, _ = disc(*ON_DISC)
    (image,) = delivery.images
    found = sheet(replace(delivery, images=(replace(image, shipped=None),)))
    assert not found.written
    assert facts(found.parts[0])[-1] == ("SHA-256", "not written")
    failed = sheet(replace(delivery, images=(replace(image, shipped=None, problem="the disk is full"),)))
    assert facts(failed.parts[0])[-1] == ("SHA-256", "the disk is full")


def test_songs_that_continue_have_early_marks() -> None:
    """Song 2 begins 200 samples into a frame: its mark is at the start of that frame."""
    second = replace(ON_DISC[1], begins=441_200, mark=750, pause=750, joined=True, indices=(), padding=0)
    notes = on_disc(replace(ON_DISC[0], length=441_200), second).parts[0].notes
    assert "Songs that continue without a break are not padded; their marks are early: track 2 by 200 samples." in notes
    assert not [note for note in notes if note.startswith(("Filled", "Index points"))]


def test_marks_that_are_early_and_ends_that_are_late_because_the_spec_requires_it() -> None:
    """Two frames before song 2; song 1 ends at frame 750, its track 3 frames later."""
    carrier = replace(DISC, mark_early_frames=2, mark_late_frames=5)
    second = replace(ON_DISC[1], mark=898, pause=753, indices=())
    notes = on_disc(ON_DISC[0], second, carrier=carrier).parts[0].notes
    assert (
        "Required: 2 frames from index 1 to the sound (common practice, no source); silence allowed: track 2 by 2 "
        "frames. No sample was moved." in notes
    )
    assert (
        "Required: tracks end 5 frames after their sound (common practice, no source); silence allowed: track 1 by 3 "
        "frames." in notes
    )
    none = on_disc(ON_DISC[0], replace(ON_DISC[1], indices=()), carrier=carrier).parts[0].notes
    assert sum("silence allowed: none." in note for note in none) == 2


def test_sound_before_index_1() -> None:
    hidden = replace(ON_DISC[0], pregap=44_100, mark=75)
    notes = on_disc(hidden, replace(ON_DISC[1], pregap=22_050)).parts[0].notes
    assert (
        "The first 0:01.000 of track 1's sound are before its index 1, in the pause: hidden before track one; players "
        "reach it by rewinding." in notes
    )
    assert "The first 0:00.500 of track 2's sound are before its index 1, in the pause: played on the way." in notes


def test_an_index_point_on_a_frame_is_not_early() -> None:
    points = (Index(2, 1000, 0), Index(3, 1100, 1))
    notes = on_disc(ON_DISC[0], replace(ON_DISC[1], indices=points)).parts[0].notes
    assert any(note.endswith("early by: index 3 of track 2 by 1 sample.") for note in notes)


@pytest.mark.parametrize(
    ("gap_s", "note"),
    [
        (1.0, "The gap of 1 s stated before track 1 of disc 1 is shorter than the pause of 2 s that a disc begins "
              "with."),
        (3.5, "The gap of 3.5 s stated before track 1 of disc 1: 2 s of it are the disc's own pause, the rest begins "
              "the image."),
        (2.0, ""), (0.0, ""), (None, ""),
    ],
)  # fmt: skip
def test_a_gap_before_the_first_song_of_a_disc(gap_s: float | None, note: str) -> None:
    release = replace(RELEASE, tracks=(replace(TRACKS[0], gap_before_s=gap_s), TRACKS[1]))
    notes = on_disc(release=release).parts[0].notes
    assert [text for text in notes if text.startswith("The gap of")] == ([note] if note else [])


def test_a_side_sheet_on_paper() -> None:
    delivery, _ = cut(replace(RELEASE, cutting=Cutting("processing_allowed", "Keep it loud.")))
    found = sheet(delivery)
    assert (found.title, found.file_name, found.columns) == ("Side sheet", "side-sheet.pdf", COLUMNS)
    assert found.notes == (CLOCK, UNTOUCHED)
    assert facts(found)[-3:] == [
        ("Dated", "2026-11-27"), ("Cut", "processing allowed: the cutting engineer may treat what the cut needs"),
        ("To the cutting room", "Keep it loud."),
    ]  # fmt: skip
    assert "Media catalogue number" not in dict(facts(found))
    (part,) = found.parts
    assert (part.name, part.pressed, part.total, part.more) == ("Side A", "12-inch 33⅓ rpm", "0:17.000", ())
    assert facts(part)[4:8] == [
        ("Good up to", "19:30"), ("At most", "23:00"), ("True peak", "-0.996 dBTP"), ("Loudness", "-14.2 LUFS"),
    ]  # fmt: skip
    assert part.rows == (
        ("A1", "Low Water", "0:00.000", "0:10.000", "0:10.000", "", "0.2 s", "", "ZZ-OSL-26-00001"),
        ("A2", 'The "Tide" (Live), Ines Quarrel', "0:12.000", "0:17.000", "0:05.000", "0:02.000", "2.6 s", "not stated",
         "not supplied"),
    )  # fmt: skip
    assert part.notes == (
        "Silence at the end of side A: 1.2 s.",
        "Silences within songs, no ends of songs: A1 at 0:04.0 for 1.5 s.",
        "Hard-clipped: A1 at 0:01.0, 0:02.5 and 1 more. Places to listen to, no faults.",
        "Sibilance-prone: A2 at 0:12.5. Places to listen to, no faults.",
        "Low frequencies out of phase (correlation -0.25 below 300 Hz over 3 s): A2 at 0:14.0. "
        "Places to listen to, no faults.",
        "Lowest correlation of left and right over 3 s: +0.90 below 150 Hz at 0:01.0 and -0.25 below 300 Hz at 0:14.0.",
    )


def test_a_tape_has_no_column_of_bands() -> None:
    delivery, _ = cut(carrier=Carrier("cassette"), limits=())
    found = sheet(delivery)
    assert (found.columns, len(found.parts[0].rows[0])) == (TAPE_COLUMNS, len(TAPE_COLUMNS))
    assert "Cut" not in dict(facts(found))
    assert sum(found.shares) == pytest.approx(1)


def test_a_song_that_continues_has_a_word_in_place_of_a_gap() -> None:
    delivery, _ = cut()
    (image,) = delivery.images
    first, second = image.programme.songs
    songs = (first, replace(second, joined=True))
    (part,) = sheet(replace(delivery, images=(replace(image, programme=replace(image.programme, songs=songs)),))).parts
    assert [row[5] for row in part.rows] == ["", "continues"]


def length_of(seconds: float, *limits: Any, carrier: Carrier | None = None) -> PartLength:
    delivery, spec = cut(limits=limits)
    (image,) = delivery.images
    own = carrier or image.programme.carrier
    programme = replace(image.programme, length=round(44_100 * seconds), carrier=own)
    whole = replace(delivery, images=(replace(image, programme=programme),), specs=(replace(spec, carrier=own),))
    (found,) = lengths(ReportContext(whole, figures()))
    return found


@pytest.mark.parametrize(
    ("seconds", "length", "text"),
    [(1_000.0, "16:40.0", "good"), (1_170.0, "19:30.0", "good"), (1_170.04, "19:30.04", "longer than good"),
     (1_380.0, "23:00.0", "longer than good"), (1_400.0, "23:20.0", "too long")],
)  # fmt: skip
def test_a_side_against_its_good_length_and_its_limit(seconds: float, length: str, text: str) -> None:
    """19:30 is good, 23:00 the most; a length is printed so that its side of a limit shows."""
    found = length_of(seconds, *LIMITS)
    assert (found.name, found.spec, found.tracks) == ("Side A", "lp, 12-inch 33⅓ rpm", "2 tracks")
    assert (found.length, found.good, found.at_most, found.text) == (length, "19:30", "23:00", text)
    longest_s = max(seconds, 1_380.0)
    assert (found.share, found.good_share, found.most_share) == tuple(
        pytest.approx(each / longest_s) for each in (seconds, 1_170.0, 1_380.0)
    )
    assert length_line(found) == (
        f"Side A (lp, 12-inch 33⅓ rpm): {length} (good up to 19:30, at most 23:00: {text}), 2 tracks."
    )


def test_a_side_without_limits() -> None:
    found = length_of(100.0)
    assert (found.good, found.at_most, found.text) == ("not stated", "not stated", "no limit stated")
    assert (found.share, found.good_share, found.most_share) == (None, None, None)
    assert length_line(found) == "Side A (lp, 12-inch 33⅓ rpm): 1:40.0, 2 tracks."
    only_most = length_of(100.0, requirement("part_length_max", [{"at_most_s": 120.0}]))
    assert (only_most.text, only_most.good_share, only_most.share) == (
        "within the limit",
        None,
        pytest.approx(100 / 120),
    )
    other_size = length_of(100.0, requirement("part_length_max", [{"size_inch": 7, "at_most_s": 120.0}]))
    assert other_size.at_most == "not stated"


def test_a_discs_length_is_in_frames_of_its_own_clock() -> None:
    delivery, _ = disc(*ON_DISC)
    (found,) = lengths(ReportContext(delivery, figures()))
    assert (found.name, found.spec, found.length) == ("Disc 1", "cd", "00:19:00")


@pytest.mark.parametrize(
    ("seconds", "said"),
    [(None, "not stated"), (1_380.0, "23:00"), (1_350.5, "22:30.5"), (4_800.0, "80:00"), (59.9996, "1:00")],
)
def test_a_limit_in_minutes(seconds: float | None, said: str) -> None:
    assert minutes(seconds) == said


def test_a_speed_in_the_trades_terms() -> None:
    carrier = Carrier("vinyl", pressing=Pressing(7, 45))
    programme = Programme("lp", "B", carrier, carrier.pressing, 44_100, (), 44_100, 0)
    assert (programme.heading, str(programme.pressing)) == ("Side B", "7-inch 45 rpm")
    assert str(Pressing(None, 33)) == "33⅓ rpm"
