"""Frame arithmetic: worked examples of IEC 60908, and sums that are exact whatever the lengths and gaps."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from delivery.chain.carrier import Marks, gap_samples, lay_out, parts_of, programmes, segments
from delivery.chain.prediction import converted_frames
from delivery.intake.yaml.schema_formats import index_point_of
from delivery.model.carrier import Carrier, Pressing, Programme, Song, msf
from delivery.model.chain import Chain, Step, StepKind, Target
from delivery.model.release import Release, Track
from delivery.model.side import first_gap

CD = Carrier("cd", 588, 2.0)
VINYL = Carrier("vinyl", pressing=Pressing(12, 33))
COPY = Chain((Step(StepKind.COPY, "", ""),), Target("wav", "pcm", 44_100, 2, 16))
LOWER = Chain(
    (
        Step(StepKind.RATE, "", "", {"from_hz": 96_000, "to_hz": 44_100}),
        Step(StepKind.REQUANTISE, "", "", {"bits": 16}),
    ),
    Target("wav", "pcm", 44_100, 2, 16),
)
GAPS = st.sampled_from([0, 0, 1, 587, 588, 589, 88_200])
LENGTHS = st.lists(st.tuples(st.integers(1, 400_000), GAPS), min_size=1, max_size=12)


def release(*tracks: Track, **more: object) -> Release:
    return Release(Path("/release.yaml"), "Harbour Arithmetic", "Merrow", tracks, **more)  # type: ignore[arg-type]


def track(position: int, gap_s: float | None = None, *, disc: int = 1, side: str = "") -> Track:
    return Track(position, Path(f"/{position}.wav"), "", position, disc, gap_before_s=gap_s, side=side)


def places(song: Song) -> tuple[int, int, int, int, int]:
    return song.begins, song.length, song.padding, song.pause, song.mark


@pytest.mark.parametrize(
    ("frames", "text"),
    [
        (150, "00:02:00"),  # the first pause: LBA 0
        (300, "00:04:00"),  # the shortest track
        (333_000, "74:00:00"),
        (359_775, "79:57:00"),
        (359_999, "79:59:74"),
    ],
)
def test_frames_are_reported_in_minutes_seconds_and_frames(frames: int, text: str) -> None:
    """IEC 60908: 75 frames a second; 74:00 = 333 000 frames, 80:00 less one = 359 999."""
    assert msf(frames) == text


def test_a_frame_is_588_samples() -> None:
    """IEC 60908: 44 100 samples a second in 75 frames; 74 minutes are 195 804 000 samples."""
    assert 75 * CD.frame_samples == 44_100
    assert 333_000 * CD.frame_samples == 195_804_000


def test_two_songs_with_a_pause_worked_by_hand() -> None:
    """1000 samples are 2 frames less 176; a gap of 2 s is 150 frames; 600 samples are 2 frames less 576."""
    songs, total = lay_out([1000, 600], [0, 88_200], 588)
    assert [places(song) for song in songs] == [(0, 1000, 176, 0, 0), (152 * 588, 600, 576, 2, 152)]
    assert total == 154 * 588


def test_songs_that_run_on_are_not_padded_and_their_mark_is_never_late() -> None:
    """The later song begins at sample 1000, 412 samples into frame 1."""
    songs, total = lay_out([1000, 600], [0, 0], 588)
    assert [places(song) for song in songs] == [(0, 1000, 0, 0, 0), (1000, 600, 164, 1, 1)]
    assert songs[1].joined
    assert total == 3 * 588


def test_a_gap_of_less_than_a_frame_is_never_shortened() -> None:
    songs, _ = lay_out([588, 588], [0, 1], 588)
    assert (songs[1].begins, songs[1].mark, songs[1].pause) == (1176, 2, 1)
    assert not songs[1].joined


@given(LENGTHS, st.sampled_from([1, 588]))
@settings(max_examples=300)
def test_sums_are_exact_for_any_lengths_and_gaps(pairs: list[tuple[int, int]], frame: int) -> None:
    """Every sample belongs to one song, one gap or one padding; marks are on frame boundaries and never late."""
    lengths, gaps = [length for length, _ in pairs], [gap for _, gap in pairs]
    songs, total = lay_out(lengths, gaps, frame)
    assert [song.length for song in songs] == lengths
    assert total % frame == 0
    before = 0
    for song, gap in zip(songs, gaps, strict=True):
        silence = song.begins - before
        assert song.mark == song.begins // frame
        assert song.pause <= song.mark
        if song.joined:
            assert silence == 0
        else:
            assert gap <= silence < gap + frame
            assert song.begins == song.mark * frame
        before = song.ends
    for song, later in pairwise(songs):
        padded = song.ends + song.padding
        assert padded == (song.ends if later.joined else later.pause * frame)
    assert songs[-1].ends + songs[-1].padding == total
    pauses = sum(later.begins - song.ends - song.padding for song, later in pairwise(songs))
    assert sum(lengths) + sum(song.padding for song in songs) + pauses + songs[0].begins == total


def test_sound_before_index_1_worked_by_hand() -> None:
    """Hidden before track one: 1500 samples are 2 frames and 324 samples, so the mark is in frame 2, 324 early.

    Before the second song 5880 samples of silence and 588 of sound: its pause begins with the silence, its mark is not
    moved, however early marks may be.
    """
    songs, total = lay_out([5880, 5880], [0, 5880], 588, Marks(early=4, late=3), [1500, 588])
    assert [(song.begins, song.pause, song.mark, song.pregap) for song in songs] == [
        (0, 0, 2, 1500),
        (11760, 13, 21, 588),
    ]
    assert total == 17640
    assert [song.begins for song in lay_out([5880, 5880], [0, 5880], 588)[0]] == [0, 11760]  # no sample moves


def test_early_and_late_marks_worked_by_hand() -> None:
    """588 samples, then a gap of 10 frames: 4 frames early and 3 late leave a pause of 3 frames."""
    songs, total = lay_out([588, 588], [0, 5880], 588, Marks(early=4, late=3))
    assert [(song.pause, song.mark, song.begins) for song in songs] == [(0, 0, 0), (4, 7, 11 * 588)]
    assert total == 12 * 588
    plan = Programme("cd", "1", CD, Pressing(), 44_100, songs, total, 150)
    assert (plan.early(songs[1]), plan.late_frames(songs[0]), plan.track_frames(songs[0])) == (4 * 588, 3, 4)


@pytest.mark.parametrize(("silence", "within"), [(0, (0, 0)), (3, (3, 0)), (6, (4, 2)), (50, (4, 3))])
def test_marks_move_within_the_silence_that_is_there(silence: int, within: tuple[int, int]) -> None:
    """That no song is begun late counts before how the one before it ends."""
    assert Marks(4, 3).within(silence) == within


@given(LENGTHS, st.integers(0, 75), st.integers(0, 75))
@settings(max_examples=300)
def test_early_and_late_marks_move_no_sample(pairs: list[tuple[int, int]], early: int, late: int) -> None:
    """Every sample is where it stood; marks stay in the silence between songs, and nothing is reported too much."""
    lengths, gaps = [length for length, _ in pairs], [gap for _, gap in pairs]
    exact, total = lay_out(lengths, gaps, 588)
    moved, same = lay_out(lengths, gaps, 588, Marks(early, late))
    assert total == same
    plan = Programme("cd", "1", CD, Pressing(), 44_100, moved, total, 150)
    for before, song in zip(exact, moved, strict=True):
        assert (song.begins, song.length, song.padding, song.joined) == (
            before.begins, before.length, before.padding, before.joined,
        )  # fmt: skip
        assert before.pause <= song.pause <= song.mark <= before.mark
        assert before.mark - song.mark <= early
        assert song.mark * 588 + plan.early(song) == song.begins
        if song.joined:
            assert (song.mark, song.pause) == (before.mark, before.pause)
    for song, later in pairwise(moved):
        assert 0 <= plan.late_frames(song) <= late
        assert song.mark + plan.track_frames(song) == later.pause


@pytest.mark.parametrize(
    ("stated", "frame", "early"),
    [
        ("00:10:33", 783, 0),  # 10 s are 750 frames
        ("10.44", 783, 0),
        ("0:10.44", 783, 0),
        ("460404 samples", 783, 0),
        ("460405 samples", 783, 1),
        ("460991 samples", 783, 587),
        ("00:00:01", 1, 0),
    ],
)
def test_an_index_point_is_rounded_down_to_its_frame(stated: str, frame: int, early: int) -> None:
    """IEC 60908: 75 frames a second, 588 samples each. A mark is never late, and its earliness is reported."""
    points = replace(track(1), index_points=(index_point_of(stated),))
    (song,) = programmes(release(points), "cd", CD, {1: 588 * 900}, {1: COPY})[0].songs
    assert [(index.number, index.frame, index.early) for index in song.indices] == [(2, frame, early)]


def test_index_points_count_from_their_track_and_in_the_master_s_own_samples() -> None:
    """Of a 96 kHz master 960 000 samples are 10 s, 750 frames at 44.1 kHz; before it are 8 s and a gap of 2 s."""
    points = replace(track(2, 2.0), index_points=(index_point_of("960000 samples"),))
    first, song = programmes(
        release(track(1), points), "cd", CD, {1: 96_000 * 8, 2: 96_000 * 20}, {1: LOWER, 2: LOWER}
    )[0].songs
    assert first.indices == ()
    assert (song.mark, song.indices[0].frame) == (750, 1500)


@given(LENGTHS)
@settings(max_examples=200)
def test_whole_frames_are_cut_at_their_index_points(pairs: list[tuple[int, int]]) -> None:
    """Songs of whole frames begin at their index 1 sample for sample, joined or not."""
    songs, _ = lay_out([588 * length for length, _ in pairs], [gap for _, gap in pairs], 588)
    assert all(song.begins == 588 * song.mark for song in songs)


@pytest.mark.parametrize(
    ("gap_s", "rate_hz", "samples"),
    [(2.0, 44_100, 88_200), (0.1, 44_100, 4410), (None, 96_000, 0), (0.00001, 44_100, 0)],
)
def test_gaps_are_rounded_once(gap_s: float | None, rate_hz: int, samples: int) -> None:
    assert gap_samples(gap_s, rate_hz) == samples


def test_the_first_pause_is_on_the_disc_and_not_in_the_file() -> None:
    """Track 1 begins at 00:02:00 of the disc (LBA 0) and at the image's first sample; a longer gap goes in the file."""
    plain = programmes(release(track(1)), "cd", CD, {1: 588}, {1: COPY})[0]
    assert (plain.songs[0].begins, plain.first_pause, msf(plain.on_carrier(0))) == (0, 150, "00:02:00")
    assert (plain.frames, plain.lead_out) == (1, 151)
    longer = programmes(release(track(1, 5.0)), "cd", CD, {1: 588}, {1: COPY})[0]
    assert longer.songs[0].mark == 3 * 75
    assert msf(longer.on_carrier(longer.songs[0].mark)) == "00:05:00"


def test_a_part_begins_with_its_first_song() -> None:
    """The gap of the album's order is no silence at the head of a side."""
    tracks = (track(1, 2.0, side="A"), track(2, 1.0, side="A"), track(3, 4.0, side="B"))
    a, b = programmes(release(*tracks), "lp", VINYL, dict.fromkeys((1, 2, 3), 44_100), dict.fromkeys((1, 2, 3), COPY))
    assert (a.name, b.name) == ("side A", "side B")
    assert [song.begins for song in a.songs] == [0, 2 * 44_100]
    assert [song.begins for song in b.songs] == [0]
    assert (a.pressing, a.length_s) == (Pressing(12, 33), 3.0)
    assert [first_gap(release(*tracks), side) for side in (a, b)] == [
        "The gap of 2 s stated before A1 is left out: a side begins with its first song.",
        "The gap of 4 s stated before B1 is left out: a side begins with its first song.",
    ]


@pytest.mark.parametrize(
    ("gap_s", "mark", "text"),
    [
        (None, 0, ""),
        (0.0, 0, ""),
        (1.5, 0, " is shorter than the pause of 2 s that a disc begins with."),
        (2.0, 0, ""),
        (5.0, 225, ": 2 s of it are the disc's own pause, the rest begins the image."),
    ],
)
def test_every_disc_treats_its_first_gap_alike(gap_s: float | None, mark: int, text: str) -> None:
    """3 s beyond the pause of 2 s (IEC 60908) are 225 frames, on the second disc as on the first."""
    tracks = (track(1, gap_s), track(2, gap_s, disc=2))
    discs = programmes(release(*tracks), "cd", CD, {1: 588, 2: 588}, {1: COPY, 2: COPY})
    assert [disc.songs[0].mark for disc in discs] == [mark, mark]
    for disc in discs:
        stated = f"The gap of {gap_s or 0:g} s stated before track 1 of {disc.name}"
        assert first_gap(release(*tracks), disc) == (f"{stated}{text}" if text else "")


def test_discs_and_sides_differ_in_name_only() -> None:
    tracks = (track(1, side="A"), track(2, side="B"), track(3, disc=2, side="C"))
    album = release(*tracks, pressing=Pressing(None, 45))
    assert [(label, len(members)) for label, members in parts_of(album, CD)] == [("1", 2), ("2", 1)]
    assert [label for label, _ in parts_of(album, VINYL)] == ["A", "B", "C"]
    sides = programmes(album, "lp", VINYL, dict.fromkeys((1, 2, 3), 100), dict.fromkeys((1, 2, 3), COPY))
    assert {side.pressing for side in sides} == {Pressing(12, 45)}
    discs = programmes(album, "cd", CD, dict.fromkeys((1, 2, 3), 588), dict.fromkeys((1, 2, 3), COPY))
    assert {disc.pressing for disc in discs} == {Pressing()}  # the record's speed is none of the disc's


@given(st.lists(st.integers(1, 2_000_000), min_size=1, max_size=9))
@settings(max_examples=200)
def test_songs_of_one_stream_share_one_rounding(frames: list[int]) -> None:
    """Converted as a whole, a stream is as long as its whole length says, and the songs' lengths add up to it."""
    tracks = tuple(track(at, 0.0) for at in range(1, len(frames) + 1))
    by_track = dict(enumerate(frames, start=1))
    made = programmes(release(*tracks), "cd", CD, by_track, dict.fromkeys(by_track, LOWER))[0]
    assert sum(song.length for song in made.songs) == converted_frames(sum(frames), 96_000, 44_100)
    assert len(segments(made, dict.fromkeys(by_track, LOWER))) == 1
    assert len(segments(made, dict.fromkeys(by_track, COPY))) == len(frames)


def test_what_a_player_shows_as_length() -> None:
    """From index 1 to the next index 0; the last one to the lead-out."""
    made = programmes(release(track(1), track(2, 2.0)), "cd", CD, {1: 588 * 400, 2: 588 * 300}, {1: COPY, 2: COPY})[0]
    assert [made.track_frames(song) for song in made.songs] == [400, 300]
