"""Landmarks: the same for any block size and level, shared by copies, counted in time that grows by their number."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.dsp.likeness.landmark_index import LANDMARK, NEIGHBOURS, elected, votes_of
from delivery.dsp.likeness.landmarks import FRAME_S, HOP, KEPT, RATE_HZ, Found, Landmarks
from tests.music import PIECES, loud_master, needs_music

RATE = 44_100
Array = NDArray[np.float64]


def phrases(seed: int, seconds: float = 20.0) -> Array:
    """Notes of random pitch and length over a little noise: (frames, 2)."""
    chance = np.random.default_rng(seed)
    out = chance.normal(0, 1e-4, (round(seconds * RATE), 2))
    at = 0
    while at < len(out) - RATE:
        length = int(chance.integers(RATE // 8, RATE // 2))
        t = np.arange(length) / RATE
        note = np.sin(2 * np.pi * chance.uniform(300, 2500) * t) * np.exp(-6 * t) * chance.uniform(0.1, 0.5)
        out[at : at + length] += note[:, None]
        at += length // 3
    return out


def found(x: Array, rate_hz: int = RATE, block: int = 65_536) -> Found:
    landmarks = Landmarks(rate_hz, x.shape[1])
    for at in range(0, len(x), block):
        landmarks.update(x[at : at + block])
    return landmarks.result()


def votes(*songs: Found) -> NDArray[np.void]:
    rows = np.concatenate(
        [
            np.array([(key, song, frame) for key, frame in zip(one.keys, one.frames, strict=True)], LANDMARK)
            for song, one in enumerate(songs)
        ]
    )
    return elected(votes_of(rows), 1)


def test_no_block_size_changes_a_landmark() -> None:
    x = phrases(1, 40)
    whole = found(x, block=len(x))
    assert len(whole.keys) > 100
    for block in (997, 65_536):
        other = found(x, block=block)
        assert (other.keys == whole.keys).all()
        assert (other.frames == whole.frames).all()


@pytest.mark.parametrize(
    ("change", "least_share"),
    [
        (lambda x: 0.1 * x, 0.95),
        (lambda x: -x, 0.99),
        (lambda x: x[:, :1], 0.95),
        (lambda x: np.vstack([np.zeros((3 * RATE + 1234, 2)), x]), 0.3),
    ],
    ids=["20 dB quieter", "inverted", "mono", "later"],
)
def test_copies_share_landmarks_at_one_offset(change: object, least_share: float) -> None:
    x = phrases(2)
    copy = change(x)  # type: ignore[operator]
    one, other = found(x), found(copy)
    (pair,) = votes(one, other)
    assert pair["votes"] >= least_share * len(one.keys)
    later_s = (len(copy) - len(x)) / RATE
    assert pair["offset"] * FRAME_S == pytest.approx(later_s, abs=FRAME_S)


def test_half_a_step_later_is_the_worst_case_and_still_found() -> None:
    x = phrases(3)
    half = round(HOP / 2 * RATE / RATE_HZ)
    one = found(x)
    (pair,) = votes(one, found(np.vstack([np.zeros((half, 2)), x])))
    assert pair["votes"] >= 0.05 * len(one.keys)


@needs_music
def test_different_pieces_of_music_share_three_at_most() -> None:
    songs = [found(*loud_master(piece, seconds=40)) for piece in PIECES[:8]]
    assert max((pair["votes"] for pair in votes(*songs)), default=0) <= 3


def test_silence_and_a_steady_tone_flood_no_index() -> None:
    t = np.arange(20 * RATE) / RATE
    tone = np.sin(2 * np.pi * 997 * t)[:, None]
    assert len(found(np.zeros((RATE, 2))).keys) == 0
    assert len(found(tone).keys) <= KEPT


def test_a_landmark_that_all_have_costs_no_more_than_its_neighbours() -> None:
    """Linear, not quadratic: a thousand songs with one key in common cast NEIGHBOURS votes each, and not 999."""
    rows = np.array([(7, song, 0) for song in range(1000)], LANDMARK)
    assert len(votes_of(rows)) <= NEIGHBOURS * len(rows)
    assert {(int(v["one"]), int(v["other"])) for v in votes_of(rows)} >= {(at, at + 1) for at in range(999)}
