"""Papers about a disc and about the sides of a record, word for word; every position worked out by hand."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from delivery.model.bounds import Bound
from delivery.model.carrier import Carrier, Index, Pressing, Programme, Song
from delivery.model.chain import Chain, Step, StepKind, Target
from delivery.model.figure import Measurement, Reading
from delivery.model.part import Delivery, Image, Part, Shipped, Source, TagReport
from delivery.model.release import Credit, Cutting, Release, Studio, Track
from delivery.model.spec import Requirement, Spec
from delivery.model.subcode import CdText
from delivery.pack.papers import cue_sheet, pq_list, side_sheet

DAY = date(2026, 11, 27)
RATE_HZ = 44_100
TRACKS = (
    Track(1, Path("1.wav"), "Low Water", isrc="ZZOSL2600001", composers=("Ada Quay",), copy_permitted=True),
    Track(2, Path("2.wav"), 'The "Tide"', 2, version="Live", artists=(Credit("Ines Quarrel"),), pre_emphasis=True,
          lyricists=("Bo Stern",), credits=(Credit("Tam", "arranger"),), cd_text=CdText(message="Play it loud")),
)  # fmt: skip
RELEASE = Release(
    Path("release.yaml"), "Harbour", "Merrow", TRACKS, version="Deluxe", label="Ostrelune", catalogue_number="OSL-014",
    upc="036000291452", dated=DAY, revision=3, genre="Folk",
)  # fmt: skip
STUDIO = Studio("Ode Marrable", "Slack Water", "1 Quay\n \n+00 123")


def shipped(**figures: object) -> Shipped:
    measured = Measurement({name: Reading(value) for name, value in figures.items()})
    return Shipped("data/x", 1, "ab" * 32, "cd" * 16, measured, TagReport({}))


def master(track: Track, **figures: object) -> Source:
    return Source(track, Measurement({name: Reading(value) for name, value in figures.items()}))


DISC = Carrier("cd", frame_samples=588, first_pause_s=2.0)
ON_DISC = (
    Song(1, 1, 0, 441_000, 0, mark=0, pause=0, joined=False),
    Song(2, 2, 529_200, 220_400, 100, mark=900, pause=750, joined=False, indices=(Index(2, 1000, 10),)),
)
"""Ten seconds, a pause of two, then 4.998 s and 100 samples up to the next frame; 75 frames of 588 samples a second."""


def disc(*songs: Song, release: Release = RELEASE) -> tuple[Delivery, Spec]:
    spec = Spec("cd", "A plant", "", DAY, (), carrier=DISC)
    programme = Programme("cd", "1", DISC, DISC.pressing, RATE_HZ, songs, 749_700, 150)
    image = Image(programme, Target("wav", "pcm", RATE_HZ, 2, 16), "OSL-014 disc 1.wav", shipped=shipped())
    sources = tuple(master(track) for track in TRACKS)
    return Delivery(release, STUDIO, (spec,), sources, (), images=(image,)), spec


def test_a_cue_sheet() -> None:
    """Times from the image's first sample; a quotation mark cannot be written and becomes an apostrophe."""
    papers = cue_sheet.render(*disc(*ON_DISC))
    assert list(papers) == ["OSL-014 disc 1.cue"]
    assert papers["OSL-014 disc 1.cue"].decode().split("\r\n") == [
        "CATALOG 0036000291452",
        'TITLE "Harbour (Deluxe)"',
        'PERFORMER "Merrow"',
        'REM GENRE "Folk"',
        'REM DISC_ID "OSL-014"',
        'FILE "OSL-014 disc 1.wav" WAVE',
        "  TRACK 01 AUDIO",
        "    FLAGS DCP",
        '    TITLE "Low Water"',
        '    PERFORMER "Merrow"',
        '    REM COMPOSER "Ada Quay"',
        "    ISRC ZZOSL2600001",
        "    INDEX 01 00:00:00",
        "  TRACK 02 AUDIO",
        "    FLAGS PRE",
        "    TITLE \"The 'Tide' (Live)\"",
        '    PERFORMER "Ines Quarrel"',
        '    SONGWRITER "Bo Stern"',
        '    REM ARRANGER "Tam"',
        '    REM MESSAGE "Play it loud"',
        "    INDEX 00 00:10:00",
        "    INDEX 01 00:12:00",
        "    INDEX 02 00:13:25",
        "",
    ]
    plain = replace(
        RELEASE, upc="", tracks=tuple(replace(one, copy_permitted=None, pre_emphasis=False) for one in TRACKS)
    )
    text = cue_sheet.render(*disc(*ON_DISC, release=plain))["OSL-014 disc 1.cue"].decode()
    assert "CATALOG" not in text
    assert "FLAGS" not in text


def test_both_flags_of_a_track_in_one_line() -> None:
    both = replace(RELEASE, tracks=(replace(TRACKS[0], pre_emphasis=True), TRACKS[1]))
    assert b"    FLAGS DCP PRE\r\n" in cue_sheet.render(*disc(*ON_DISC, release=both))["OSL-014 disc 1.cue"]


def test_a_pq_list() -> None:
    """On the disc's clock everything is 2 s (150 frames) later than in the image."""
    (content,) = pq_list.render(*disc(*ON_DISC)).values()
    one, two, out = csv.DictReader(content.decode("utf-8-sig").splitlines())
    assert {name: text for name, text in two.items() if text} == {
        "disc": "1", "image": "OSL-014 disc 1.wav", "media_catalogue_number": "0036000291452", "track": "02",
        "index_0": "00:12:00", "index_1": "00:14:00", "ends": "00:19:00", "pause": "00:02:00", "length": "00:05:00",
        "index_0_in_image": "00:10:00", "index_1_in_image": "00:12:00", "begins_sample": "529200", "samples": "220400",
        "padding_samples": "100", "mark_early_samples": "0", "end_late_frames": "0",
        "further_index_points": "02=00:15:25", "further_index_points_in_image": "02=00:13:25", "copy_permitted": "no",
        "pre_emphasis": "yes", "channels": "2", "title": 'The "Tide" (Live)', "performer": "Ines Quarrel",
        "songwriter": "Bo Stern", "arranger": "Tam", "message": "Play it loud", "disc_title": "Harbour (Deluxe)",
        "disc_performer": "Merrow", "disc_genre": "Folk", "disc_id": "OSL-014",
    }  # fmt: skip
    assert [one[name] for name in ("index_0", "index_1", "ends", "pause", "length", "isrc", "composer")] == [
        "00:00:00", "00:02:00", "00:12:00", "00:02:00", "00:10:00", "ZZOSL2600001", "Ada Quay",
    ]  # fmt: skip
    assert {name: text for name, text in out.items() if text} == {
        "disc": "1", "image": "OSL-014 disc 1.wav", "media_catalogue_number": "0036000291452", "track": "lead-out",
        "index_1": "00:19:00", "index_1_in_image": "00:17:00", "begins_sample": "749700",
    }  # fmt: skip


def test_a_text_that_a_spreadsheet_could_run_is_text_on_the_pq_list() -> None:
    risky = replace(RELEASE, tracks=(replace(TRACKS[0], title="=1+1"), TRACKS[1]))
    (content,) = pq_list.render(*disc(*ON_DISC, release=risky)).values()
    assert next(csv.DictReader(content.decode("utf-8-sig").splitlines()))["title"] == "'=1+1"


RECORD = Carrier("vinyl", pressing=Pressing(12, 33))
ON_SIDE = (
    Song(1, 1, 0, 441_000, 0, mark=0, pause=0, joined=False),
    Song(2, 2, 529_200, 220_500, 0, mark=529_200, pause=441_000, joined=False),
)
SIDE_MASTERS = (
    master(TRACKS[0], lead_in_s=0.25, tail_s=0.5, clip_runs_at_s=(1.0, 2.5), clip_run_count=3,
           inner_silences=((4.0, 1.5), (2.0, 0.5))),
    master(TRACKS[1], lead_in_s=0.1, tail_s=1.25, sibilant_spots_at_s=(0.5,), sibilant_spots=1,
           low_band_hz=(150, 300), low_band_correlations_min=(0.9, -0.25), low_band_at_s=(1.0, 2.0)),
)  # fmt: skip
WRITTEN = shipped(
    true_peak_dbtp=-0.996, integrated_lufs=-14.2, low_band_hz=(150, 300), low_band_correlations_min=(0.9, -0.25),
    low_band_at_s=(1.0, 14.0),
)  # fmt: skip


def requirement(rule: str, limit: object, *bounds: Bound) -> Requirement:
    return Requirement(rule, limit, True, "", DAY, "lp", "", bounds=bounds)


LIMITS = (
    requirement("part_length_good", [{"at_most_s": 1170.0}]),
    requirement("part_length_max", [{"size_inch": 12, "speed_rpm": 33, "at_most_s": 1380.0}]),
    requirement("true_peak_max_dbtp", -1.0, Bound("true_peak_dbtp", -1.0, from_above=True)),
)


def cut(
    release: Release = RELEASE, carrier: Carrier = RECORD, limits: tuple[Requirement, ...] = LIMITS,
    written: Shipped | None = WRITTEN, studio: Studio = STUDIO, kind: StepKind = StepKind.COPY,
) -> tuple[Delivery, Spec]:  # fmt: skip
    spec = Spec("lp", "The cutting room", "", DAY, limits, carrier=carrier)
    programme = Programme("lp", "A", carrier, carrier.pressing, RATE_HZ, ON_SIDE, 749_700, 0)
    target = Target("wav", "pcm", RATE_HZ, 2, 24)
    image = Image(programme, target, "side A.wav", shipped=written)
    chain = Chain((Step(kind, "", ""),), target)
    parts = tuple(Part("lp", track.position, chain, ()) for track in TRACKS)
    return Delivery(release, studio, (spec,), SIDE_MASTERS, parts, images=(image,)), spec


def side(*given: Any, **more: Any) -> list[str]:
    papers = side_sheet.render(*cut(*given, **more))
    return papers["side-sheet.txt"].decode().split("\n") if papers else []


def test_a_side_sheet() -> None:
    """Silence before A2: 0.5 s at the end of A1, the gap of 2 s, 0.1 s before its first sound. -0.996 dBTP is above the
    limit of -1, and is printed so that it shows."""
    cutting = replace(RELEASE, cutting=Cutting("flat", "Keep it loud."))
    assert side(replace(cutting, tracks=(TRACKS[0], replace(TRACKS[1], band=True)))) == [
        "Merrow: Harbour (Deluxe)",
        "Catalogue number OSL-014, label Ostrelune",
        "Revision 3, dated 2026-11-27, for: The cutting room",
        "Engineer Ode Marrable, Slack Water",
        "1 Quay",
        "+00 123",
        "Nothing was processed: songs are joined as they were approved, with the gaps below.",
        "Cut flat: cut as it is, nothing is to be changed.",
        "To the cutting room: Keep it loud.",
        "",
        "SIDE A, 12-inch 33⅓ rpm",
        "File side A.wav, 24 bit, 44.1 kHz",
        "Length 0:17.000 of good 19:30, at most 23:00",
        f"SHA-256 {'ab' * 32}",
        "",
        "         begins        ends     length  gap before   silence  band        title",
        "A1     0:00.000    0:10.000   0:10.000                 0.2 s              Low Water  ZZOSL2600001",
        'A2     0:12.000    0:17.000   0:05.000     2.000 s     2.6 s  yes         The "Tide" (Live), Ines Quarrel',
        "",
        "Highest true peak -0.996 dBTP, loudness -14.20 LUFS",
        "Silence: everything below -60 dBFS before the song, the ends of both songs included.",
        "Silence at the end of the side 1.2 s",
        "Silence within A1 at 0:04.000, for 1.5 s",
        "Hard-clipped in A1 at 0:01.000, 0:02.500 and 1 more",
        "Sibilance-prone in A2 at 0:12.500",
        "Low frequencies out of phase (correlation -0.25 below 300 Hz over 3 s) in A2 at 0:14.000",
        "Lowest correlation below 300 Hz: -0.25 at 0:14.000 (over 3 s)",
        "",
    ]


def test_a_side_sheet_of_which_little_is_stated() -> None:
    bare = replace(RELEASE, version="", label="", catalogue_number="", dated=None, revision=1)
    found = side(bare, Carrier("vinyl"), (), shipped(), Studio())
    assert found[:6] == [
        "Merrow: Harbour",
        "Catalogue number not supplied, label not supplied",
        "Revision 1, dated not stated, for: The cutting room",
        "Engineer not supplied, studio not supplied",
        "Nothing was processed: songs are joined as they were approved, with the gaps below.",
        "Cut not stated: ask before anything is changed.",
    ]
    assert found[7] == "SIDE A"
    assert "Length 0:17.000 of no stated limit" in found
    assert "Highest true peak not measured, loudness not measured" in found
    assert [line for line in found if "not stated  " in line] == [
        'A2     0:12.000    0:17.000   0:05.000     2.000 s     2.6 s  not stated  The "Tide" (Live), Ines Quarrel'
    ], "before the first song there is no band to state"


@pytest.mark.parametrize(("band", "word"), [(True, "yes"), (False, "no"), (None, "not stated")])
def test_whether_a_band_is_cut_before_a_song(band: bool | None, word: str) -> None:
    found = side(replace(RELEASE, tracks=(TRACKS[0], replace(TRACKS[1], band=band))))
    assert f"2.6 s  {word:12}The " in next(line for line in found if line.startswith("A2"))


def test_a_tape_is_not_cut_and_has_no_bands() -> None:
    found = side(carrier=Carrier("cassette"))
    assert not [line for line in found if line.startswith("Cut ")]
    assert "         begins        ends     length  gap before   silence  title" in found
    assert 'A2     0:12.000    0:17.000   0:05.000     2.000 s     2.6 s  The "Tide" (Live), Ines Quarrel' in found


def test_places_of_a_converted_side_are_those_of_the_side_itself() -> None:
    """A converted song has other samples than its master: places are those of the written side, without a song."""
    written = shipped(clip_runs_at_s=(3.0, 13.0), clip_run_count=2)
    found = side(written=written, kind=StepKind.REQUANTISE)
    assert "Hard-clipped at 0:03.000, 0:13.000" in found
    assert not [line for line in found if " in A" in line]


def test_a_side_that_was_not_written_has_no_paper() -> None:
    assert side(written=None) == []


def test_a_gap_before_the_first_song_of_a_side_is_left_out_and_said() -> None:
    gapped = replace(RELEASE, tracks=(replace(TRACKS[0], gap_before_s=2.5), TRACKS[1]))
    assert "The gap of 2.5 s stated before A1 is left out: a side begins with its first song." in side(gapped)
