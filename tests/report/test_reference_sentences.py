"""A song beside a reference playlist: rows, sentences and the page of the sheet, from spreads worked by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from delivery.model.reference import (
    BandSpread,
    Beside,
    Doubt,
    Mark,
    Place,
    PlaceKind,
    Playback,
    Reference,
    ReferenceComparison,
    ReferenceTrack,
    Spread,
)
from delivery.report.view.reference import (
    CAUTION,
    NAMES,
    Row,
    band_rows,
    bar_remark,
    marks_line,
    more_places,
    place_rows,
    playback_line,
    playback_rows,
    remarks,
    rows,
    short_remarks,
    standing_out,
    thin_or_crowded_rows,
)
from delivery.report.view.reference_opening import farthest, opening, range_of
from delivery.report.view.reference_page import BandPoint, band_points, cells, level_marks, reference_page


def spread(song: float | None, median: float | None = 0.0, half: float | None = 1.0) -> Spread:
    """A song beside tracks whose middle half reaches *half* to both sides of the median."""
    if half is None or median is None:
        return Spread(song, (-9.0, -8.04), -8.52, None, None)
    return Spread(song, (median - half, median, median + half), median, median - half, median + half)


def octave(middle_hz: float, level: Spread) -> BandSpread:
    return BandSpread(middle_hz / 10**0.1, middle_hz * 10**0.1, level)


def beside(loudness: Spread, *octaves: BandSpread, **more: Any) -> Beside:
    figures = dict.fromkeys(NAMES, spread(0.5)) | {"integrated_lufs": loudness}
    return Beside("Low Water", figures, more.pop("third_octaves", ()), octaves, more.pop("low_end", None), (), **more)


LOW_END = BandSpread(50.0, 160.0, spread(0.2))


@pytest.mark.parametrize(
    ("song", "said"),
    [
        (0.0, "At the median loudness of the reference playlist, inside the middle half."),
        (0.049, "At the median loudness of the reference playlist, inside the middle half."),
        (0.4, "0.4 LU above the median of the reference playlist, inside the middle half."),
        (-1.4, "1.4 LU below the median of the reference playlist, within 0.5 LU of the middle half."),
        (1.5, "1.5 LU above the median of the reference playlist."),
        (None, "The song's loudness could not be measured."),
    ],
)
def test_loudness_comes_first(song: float | None, said: str) -> None:
    assert opening(beside(spread(song)))[0] == said


def test_the_low_end_and_the_octave_farthest_away() -> None:
    song = beside(spread(0.0), octave(1000, spread(2.5)), octave(4000, spread(-3.0)), low_end=LOW_END)
    assert opening(song)[1:] == (
        "Low end, 50 to 160 Hz, inside the middle half.",
        "3 to 5 kHz is 3.0 dB below the median, outside the middle half.",
    )
    far = replace(song, low_end=replace(LOW_END, level=spread(1.6)))
    assert opening(far)[1] == "Low end, 50 to 160 Hz, is 1.6 dB above the median, outside the middle half."
    unknown = replace(song, low_end=replace(LOW_END, level=spread(None)))
    assert len(opening(unknown)) == 2


def test_nothing_stands_out() -> None:
    inside = beside(spread(0.0), octave(1000, spread(0.3)), low_end=LOW_END)
    assert opening(inside)[-1] == (
        "Loudness and tone lie in the middle half of the reference playlist; no change is suggested."
    )
    near = beside(spread(0.0), octave(1000, spread(1.4)))
    assert opening(near)[-1] == (
        "Loudness and tone lie in the middle half of the reference playlist or within 0.5 dB of it; no change is "
        "suggested."
    )
    loud = beside(spread(3.0), octave(1000, spread(0.3)))
    assert opening(loud)[-1] == "Every other octave is inside the middle half or within 0.5 dB of it."
    assert len(opening(beside(spread(3.0)))) == 1


def test_octaves_that_the_opening_may_name() -> None:
    """From 50 Hz to 12.5 kHz, without those of the low end, which has a sentence of its own."""
    far = spread(9.0)
    for middle_hz, named in ((40, False), (63, True), (80, False), (125, False), (160, False), (200, True),
                             (10_000, True), (16_000, False)):  # fmt: skip
        exact_hz = 1000 * 10 ** (round(10 * math.log10(middle_hz / 1000)) / 10)
        assert (farthest(beside(spread(0.0), octave(exact_hz, far))) is not None) is named, middle_hz
    assert farthest(beside(spread(0.0), octave(1000, spread(1.49)))) is None
    assert farthest(beside(spread(0.0), octave(1000, spread(1.5)))) is not None


def test_among_fewer_than_three_tracks_single_values_are_given() -> None:
    assert opening(beside(spread(-10.04, half=None))) == (
        "-10.0 LUFS; the reference has -9.0 and -8.0 LUFS.", "Fewer than three tracks: single values, no middle half.",
    )  # fmt: skip
    assert opening(beside(spread(None, half=None))) == ("The song's loudness could not be measured.",)
    assert opening(beside(Spread(-9.0, (), None, None, None))) == ("The song's loudness could not be measured.",)


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [(80, 160, "80 to 160 Hz"), (800, 1250, "800 Hz to 1.25 kHz"), (1000, 1600, "1 to 1.6 kHz"),
     (3150, 5000, "3 to 5 kHz"), (31.5, 63, "31.5 to 63 Hz"), (2500, 4000, "2.5 to 4 kHz")],
)  # fmt: skip
def test_ranges_as_they_are_called(low: float, high: float, said: str) -> None:
    assert range_of(low, high) == said


def test_a_figure_in_a_row() -> None:
    song = beside(spread(-9.54, -8.0, 0.5))
    assert rows(song, ["integrated_lufs"]) == (
        Row("Integrated", "LUFS", "-9.5", "-8.0", "-8.5 to -7.5", "-1.5 LU", "outside"),
    )
    inside = beside(spread(-8.54, -8.0, 0.5))
    assert rows(inside, ["integrated_lufs"])[0].place == "inside"
    unknown = beside(spread(None, -8.0, 0.5))
    assert rows(unknown, ["integrated_lufs"]) == (Row("Integrated", "LUFS", "-", "-8.0", "-8.5 to -7.5", "", ""),)
    few = beside(spread(-10.0, half=None))
    assert rows(few, ["integrated_lufs"]) == (Row("Integrated", "LUFS", "-10.0", "", "-9.0, -8.0", "", ""),)
    differences = {row.name: row.difference for row in rows(beside(spread(0.5)))}
    assert differences["True peak"] == "+0.5 dB"
    assert differences["Correlation"] == "+0.50"
    assert differences["Spectral tilt"] == "+0.50 dB/octave"
    assert rows(beside(spread(-0.04)))[0].song == "0.0", "no minus sign before nought"


def test_bands_in_rows() -> None:
    third, wide = BandSpread(3162.3, 3162.3, spread(0.5)), octave(1000, spread(0.5))
    assert [row.name for row in band_rows([third, wide])] == ["3.15 kHz", "800 Hz to 1.25 kHz"]


def test_the_octaves_standing_out_do_not_overlap_and_are_in_order() -> None:
    song = beside(
        spread(0.0), octave(4000, spread(3.0)), octave(5012, spread(5.0)), octave(1000, spread(2.0)),
        octave(250, spread(1.01)), octave(200, spread(4.0)), low_end=LOW_END,
    )  # fmt: skip
    assert [row.name for row in standing_out(song)] == [
        "50 to 160 Hz",
        "160 to 250 Hz",
        "800 Hz to 1.25 kHz",
        "4 to 6.5 kHz",
    ]
    assert [row.name for row in standing_out(replace(song, low_end=None), 1)] == ["4 to 6.5 kHz"]


PLAYBACK = Playback(-14.0, spread(-3.04, -2.0), spread(0.5, None))


def test_what_a_player_at_one_loudness_would_do() -> None:
    song = replace(beside(spread(0.0)), playback=(PLAYBACK, replace(PLAYBACK, target_lufs=-16.0)))
    assert playback_rows(song)[0] == ("-14", "-3.0", "+0.5", "-2.0", "-8.5")
    assert playback_line(song) == "At -14 LUFS: gain -3.0 dB, peak +0.5 dBTP; reference -2.0 dB, -8.5 dBTP."
    nothing = replace(
        PLAYBACK, gain_db=Spread(None, (), None, None, None), peak_dbtp=Spread(None, (), None, None, None)
    )
    assert playback_rows(replace(song, playback=(nothing,)))[0] == ("-14", "-", "-", "-", "-")


PLACES = (
    Place(PlaceKind.DROPS_OUT, 90.0, 91.0, 63.0, 125.0, -20.0, None),
    Place(PlaceKind.THIN, 10.0, 20.0, 250.0, 500.0, -4.0, 2.0, "verse"),
    Place(PlaceKind.CROWDED, 30.0, 34.0, 2000.0, 3150.0, 6.0, -3.04),
    Place(PlaceKind.CROWDED, 50.0, 54.0, 2000.0, 3150.0, 6.0, None),
)


def test_places_where_a_band_departs() -> None:
    song = beside(spread(0.0), places=PLACES)
    assert place_rows(song) == (
        ("0:30.0 to 0:34.0", "2 to 3 kHz", "crowded", "+6.0 dB", "3.0 dB"),
        ("0:10.0 to 0:20.0 (verse)", "250 to 500 Hz", "thin", "-4.0 dB", "2.0 dB"),
        ("0:50.0 to 0:54.0", "2 to 3 kHz", "crowded", "+6.0 dB", ""),
        ("1:30.0 to 1:31.0", "63 to 125 Hz", "arrangement", "-20.0 dB", ""),
    )
    assert thin_or_crowded_rows(song) == place_rows(song)[:3]
    assert more_places(song, 2) == "1 more and 1 of arrangement: --all."
    assert more_places(song, 3) == "1 of arrangement: --all."
    assert more_places(replace(song, places=PLACES[1:]), 3) == ""
    assert bar_remark(song) == ""
    assert bar_remark(replace(song, bar_s=2.0)) == "Bars of 2.00 s (no tempo stated)."
    assert bar_remark(replace(song, bar_s=2.6087, bpm=92.0)) == "Bars of 2.61 s (four beats at 92 a minute)."


TRACKS = tuple(ReferenceTrack(f"{at}.flac", "", "1", {}) for at in range(5))
ALL = ReferenceComparison(Reference("folk", TRACKS), {}, (), (), (beside(spread(0.0)),))


def test_doubtful_tracks_are_named_with_the_remedy() -> None:
    lossy, clipped = Mark(Doubt.LOSSY, "16 kHz"), Mark(Doubt.CLIPPED, "9 runs")
    marked = replace(ALL, marks={f"{at}.flac": (lossy,) for at in range(4)} | {"4.flac": (lossy, clipped)})
    assert remarks(marked) == (
        "5 reference tracks lossy: 0.flac, 1.flac, 2.flac and 2 more.",
        "1 reference track clipped: 4.flac.",
        "Why: delivery reference show folk; leave them out: --leave-out-marked.",
    )
    assert marks_line(marked) == (
        "Marked tracks: 5 lossy and 1 clipped (delivery reference show folk); --leave-out-marked."
    )
    assert short_remarks(marked) == (marks_line(marked),)
    assert (remarks(ALL), short_remarks(ALL), marks_line(ALL)) == ((), (), "")


def test_tracks_left_out_and_tracks_measured_by_other_meters() -> None:
    found = replace(ALL, left_out=("a.flac", "b.flac"), older=("c.flac",))
    assert remarks(found) == short_remarks(found) == (
        "Left out as marked: a.flac, b.flac.",
        "1 track of folk measured by another version of the meters. "
        "Measure again: delivery reference make folk FOLDER --replace",
    )  # fmt: skip


THIRDS = tuple(BandSpread(hz, hz, level) for hz, level in ((100.0, spread(2.0, 1.0, 0.5)), (1000.0, spread(-1.0, 1.0))))


def test_the_page_of_the_sheet() -> None:
    song = beside(spread(0.4), third_octaves=THIRDS)
    page = reference_page(replace(ALL, songs=(song,)))
    assert (page.title, page.against, page.songs) == ("Low Water", "folk, 5 tracks", ())
    assert page.columns == ("Figure", "Song", "Median", "Middle half", "Difference")
    assert page.rows[0] == ("Integrated, LUFS", "0.4", "0.0", "-1.0 to 1.0", "+0.4 LU")
    assert page.bands == (BandPoint("100 Hz", 1.0, -0.5, 0.5), BandPoint("1 kHz", -2.0, -1.0, 1.0))
    assert page.cautions == CAUTION
    few = reference_page(replace(ALL, songs=(beside(spread(0.0, half=None)),)))
    assert few.columns[3] == "Reference"
    album = reference_page(replace(ALL, songs=(song, song), album=replace(song, title="The album")))
    assert album.title == "The album"
    assert album.songs == (("Low Water", "0.4", " ".join(opening(song))),) * 2


def test_what_a_plot_of_bands_shows() -> None:
    unknown = replace(THIRDS[0], level=spread(None))
    assert band_points((THIRDS[0], unknown)) == (), "one band is no curve"
    assert len(band_points((*THIRDS, unknown))) == 2
    assert level_marks(band_points(THIRDS)) == (3.0, range(-3, 4))
    high = (BandPoint("", 4.0, 0.0, 0.0), BandPoint("", 0.0, -12.0, 0.0), BandPoint("", 0.0, 0.0, 13.5))
    assert level_marks(high[:1]) == (4.0, range(-4, 5))
    assert level_marks(high[:2]) == (12.0, range(-12, 13, 3))
    assert level_marks(high) == (13.5, range(-10, 11, 10))


def test_a_row_outside_the_middle_half_says_so_beside_its_difference() -> None:
    assert cells(Row("A", "dB", "1", "2", "3", "+4 dB", "outside"))[-1] == "+4 dB, outside"
    assert cells(Row("A", "", "1", "2", "3", "+4", "inside")) == ("A", "1", "2", "3", "+4")
