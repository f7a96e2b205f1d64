"""Cue sheets, read back by libcue (pylibcue), which is independent of this program."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from delivery.chain.carrier import lay_out
from delivery.model.carrier import Carrier, Index, Pressing, Programme
from delivery.model.chain import Target
from delivery.model.part import Image
from delivery.model.release import Credit, Release, Track
from delivery.model.subcode import CdText
from delivery.pack.papers.cue_sheet import cue_sheet

pylibcue = pytest.importorskip("pylibcue")
CARRIER = Carrier("cd", 588, 2.0)
TITLES = ("Low Water", 'The "Tide" Table', "Æbb & Flød", "潮の計算", "  Two   blanks ")
ONE = st.tuples(st.integers(300 * 588, 900 * 588), st.sampled_from([0, 1, 588, 88_200]))
SONGS = st.lists(ONE, min_size=1, max_size=30)


def album(count: int, **more: Any) -> Release:
    tracks = tuple(
        Track(
            position,
            Path(f"/{position}.wav"),
            TITLES[position % len(TITLES)],
            number=position,
            isrc=f"ZZOSL26{position:05}",
            lyricists=("Odile Merrow",) if position % 2 else (),
        )
        for position in range(1, count + 1)
    )
    known = {"upc": "2000000140018", **more}
    return Release(Path("/r.yaml"), "Harbour Arithmetic", "Merrow & the Glass Tide", tracks, **known)


def image(pairs: list[tuple[int, int]], carrier: Carrier = CARRIER) -> Image:
    songs, total = lay_out([length for length, _ in pairs], [gap for _, gap in pairs], 588)
    programme = Programme("cd", "1", carrier, Pressing(), 44_100, songs, total, 150)
    return Image(programme, Target("wav", "pcm", 44_100, 2, 16), "OSL-014 disc 1.wav")


def frames(output: tuple[int, int, int] | None) -> int:
    assert output is not None
    minutes, seconds, rest = output
    return (minutes * 60 + seconds) * 75 + rest


def test_a_hidden_song_is_between_index_0_and_index_1_of_track_one() -> None:
    """Three minutes of sound before track one: libcue counts them as its pause."""
    lengths = [600 * 588, 400 * 588]
    songs, total = lay_out([180 * 75 * 588 + lengths[0], lengths[1]], [0, 0], 588, pregaps=[180 * 75 * 588, 0])
    programme = Programme("cd", "1", CARRIER, Pressing(), 44_100, songs, total, 150)
    made = Image(programme, Target("wav", "pcm", 44_100, 2, 16), "OSL-014 disc 1.wav")
    first, second = pylibcue.parse_str(cue_sheet(album(2), made))
    assert frames(first.start) == 180 * 75
    assert frames(first.length) == 600
    assert frames(second.start) == 180 * 75 + 600


@given(SONGS)
@settings(max_examples=60)
def test_index_points_are_read_back_as_laid_out(pairs: list[tuple[int, int]]) -> None:
    made = image(pairs)
    read = pylibcue.parse_str(cue_sheet(album(len(pairs)), made))
    assert len(read) == len(pairs)
    for song, track in zip(made.programme.songs, read, strict=True):
        assert frames(track.start) == song.mark
        pause = song.mark - song.pause
        assert (frames(track.zero_pre) if track.zero_pre else 0) == pause
        assert track.filename == "OSL-014 disc 1.wav"


def test_titles_codes_and_names_are_read_back() -> None:
    """A quote inside a title cannot be written in this form: it becomes an apostrophe."""
    release = album(5)
    read = pylibcue.parse_str(cue_sheet(release, image([(300 * 588, 0)] * 5)))
    assert (read.catalog, read.cdtext.title, read.cdtext.performer) == (
        "2000000140018",
        "Harbour Arithmetic",
        "Merrow & the Glass Tide",
    )
    assert [track.cdtext.title for track in read] == [
        "The 'Tide' Table",
        "Æbb & Flød",
        "潮の計算",
        "Two blanks",
        "Low Water",
    ]
    assert [track.isrc for track in read] == [f"ZZOSL26{position:05}" for position in range(1, 6)]
    assert [track.cdtext.songwriter for track in read] == ["Odile Merrow", None] * 2 + ["Odile Merrow"]


def test_performers_flags_and_upc() -> None:
    """A UPC-A is the EAN-13 with a 0 in front (GS1)."""
    release = album(2, upc="036000241457")
    guest = replace(release.tracks[1], artists=(Credit("Oona Vail"), Credit("Piet", "mixer")))
    release = replace(release, tracks=(release.tracks[0], guest))
    text = cue_sheet(release, image([(300 * 588, 0)] * 2, replace(CARRIER, copy_permitted=True)))
    read = pylibcue.parse_str(text)
    assert read.catalog == "0036000241457"
    assert [track.cdtext.performer for track in read] == ["Merrow & the Glass Tide", "Oona Vail"]
    assert all(track.has_flag(pylibcue.TrackFlag.COPY_PERMITTED) for track in read)
    plain = pylibcue.parse_str(cue_sheet(release, image([(300 * 588, 0)] * 2)))
    assert not any(track.has_flag(pylibcue.TrackFlag.COPY_PERMITTED) for track in plain)


@given(SONGS, st.lists(st.integers(1, 299), min_size=1, max_size=98, unique=True))
@settings(max_examples=40)
def test_further_index_points_are_read_back(pairs: list[tuple[int, int]], places: list[int]) -> None:
    """Index 2 to 99; libcue numbers them in order."""
    made = image(pairs)
    points = tuple(enumerate(sorted(places), start=2))
    songs = tuple(
        replace(song, indices=tuple(Index(number, song.mark + at, 0) for number, at in points))
        for song in made.programme.songs
    )
    read = pylibcue.parse_str(
        cue_sheet(album(len(pairs)), replace(made, programme=replace(made.programme, songs=songs)))
    )
    for song, track in zip(songs, read, strict=True):
        for number, at in points:
            assert frames(track.get_index(number)) == song.mark + at


def test_flags_of_single_tracks_and_texts_for_players_alone() -> None:
    """A track's own flags count before the spec's; what is stated for players before label copy."""
    one, two = album(2).tracks
    tracks = (
        replace(one, copy_permitted=True, pre_emphasis=True, cd_text=CdText(title="Low", arranger="Tam Varrick")),
        replace(two, title="潮の計算", cd_text=CdText(title="Shio no Keisan", songwriter="Ilse Merrow")),
    )
    release = replace(
        album(2), tracks=tracks, genre="Folk", catalogue_number="OSL-014", cd_text=CdText(title="Harbour")
    )
    read = pylibcue.parse_str(cue_sheet(release, image([(300 * 588, 0)] * 2)))
    flag = pylibcue.TrackFlag
    assert [(t.has_flag(flag.COPY_PERMITTED), t.has_flag(flag.PRE_EMPHASIS)) for t in read] == [
        (True, True),
        (False,) * 2,
    ]
    assert [track.cdtext.title for track in read] == ["Low", "Shio no Keisan"]
    assert [track.cdtext.songwriter for track in read] == ["Odile Merrow", "Ilse Merrow"]
    assert (read.cdtext.title, read.cdtext.performer) == ("Harbour", "Merrow & the Glass Tide")
    text = cue_sheet(release, image([(300 * 588, 0)] * 2))
    assert 'REM GENRE "Folk"' in text
    assert 'REM DISC_ID "OSL-014"' in text
    assert '    REM ARRANGER "Tam Varrick"' in text


def test_a_code_that_is_none_is_left_out() -> None:
    text = cue_sheet(album(1, upc="12"), image([(300 * 588, 0)]))
    assert "CATALOG" not in text
    assert text.endswith("\r\n")
