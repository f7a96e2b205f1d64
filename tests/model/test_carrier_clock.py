"""Positions on a disc or side: where marks, pauses and ends lie on the carrier's clock. Sums by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from delivery.model.carrier import Carrier, Pressing, Programme, Song, msf

CD = Carrier("cd", 588, 2.0)
ROWS = (
    {"size_inch": 12, "speed_rpm": 33, "at_most_s": 1380},
    {"speed_rpm": 45, "at_most_s": 870},
    {"at_most_s": 600},
)


def song(number: int, begins: int, length: int, **more: Any) -> Song:
    return Song(number, number, begins, length, 0, begins // 588, begins // 588, joined=False, **more)


ONE = song(1, 0, 5880)
TWO = replace(song(2, 7056, 5000), pause=11, mark=12)
THREE = replace(song(3, 12_056, 100), joined=True, mark=20, pause=20)
DISC = Programme("cd", "1", CD, Pressing(), 44_100, (ONE, TWO, THREE), 588 * 21, 150)


def test_a_discs_clock_begins_with_the_pause_before_it() -> None:
    """150 frames are the 2 s of IEC 60908; 21 frames of sound follow."""
    assert (DISC.frames, DISC.lead_out, DISC.on_carrier(0)) == (21, 171, 150)
    assert DISC.length_s == pytest.approx(171 / 75)
    assert (DISC.name, DISC.heading) == ("disc 1", "Disc 1")
    side = replace(DISC, label="A", carrier=Carrier("vinyl"), rate_hz=96_000, first_pause=0)
    assert (side.name, side.heading, side.length_s) == ("side A", "Side A", 588 * 21 / 96_000)


def test_a_mark_lies_at_or_before_its_song() -> None:
    assert [DISC.early(each) for each in DISC.songs] == [0, 0, 12_056 - 20 * 588]
    assert DISC.early(replace(TWO, pregap=588)) == 588
    assert ONE.ends == 5880


def test_a_track_continues_as_far_as_the_next_ones_pause() -> None:
    """The song's sound ends in frame 10; the next one's pause begins at 11. A joined song and the last have none."""
    assert [DISC.late_frames(each) for each in DISC.songs] == [1, 0, 0]
    assert DISC.late_frames(replace(ONE, length=5881)) == 0


def test_the_length_a_player_shows() -> None:
    assert [DISC.track_frames(each) for each in DISC.songs] == [11, 8, 1]


@pytest.mark.parametrize(
    ("frames", "text"),
    [
        (0, "00:00:00"), (74, "00:00:74"), (75, "00:01:00"), (4499, "00:59:74"), (4500, "01:00:00"),
        (449_999, "99:59:74"),
    ],
)  # fmt: skip
def test_minutes_seconds_and_frames(frames: int, text: str) -> None:
    assert msf(frames) == text


@pytest.mark.parametrize(
    ("size", "speed", "text", "limit_s"),
    [
        (12, 33, "12-inch 33⅓ rpm", 1380.0),
        (12, 45, "12-inch 45 rpm", 870.0),
        (7, 45, "7-inch 45 rpm", 870.0),
        (10, 33, "10-inch 33⅓ rpm", 600.0),
        (None, 33, "33⅓ rpm", 600.0),
        (12, None, "12-inch", 600.0),
        (None, None, "", 600.0),
    ],
)
def test_the_first_row_that_fits_a_pressing_limits_it(
    size: int | None, speed: int | None, text: str, limit_s: float
) -> None:
    pressing = Pressing(size, speed)
    assert str(pressing) == text
    assert pressing.limit_s(ROWS) == limit_s
    assert Pressing(7, 33).limit_s(ROWS[:2]) is None


@pytest.mark.parametrize(
    ("carrier", "part", "is_cut", "in_frames"),
    [(CD, "disc", False, True), (Carrier("vinyl"), "side", True, False), (Carrier("cassette", 2), "side", False, True)],
)
def test_kinds_of_carrier(carrier: Carrier, part: str, is_cut: bool, in_frames: bool) -> None:
    assert (carrier.part, carrier.is_cut, carrier.in_frames) == (part, is_cut, in_frames)
