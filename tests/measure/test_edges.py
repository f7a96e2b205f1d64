"""Tops, tails and pauses, each placed to the sample."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.measure.edges import Edges
from tests.measure.memory import readings, why
from tests.signals import noise

RATE_HZ = 48_000
JUST_BELOW, JUST_ABOVE = 10 ** (-60.1 / 20), 10 ** (-59.9 / 20)


def test_lead_in_and_tail_to_the_sample() -> None:
    sound = np.zeros((RATE_HZ, 2))
    sound[:, 0] = JUST_BELOW
    sound[1234:40_000, 1] = noise(RATE_HZ, 1)[1234:40_000, 0]
    sound[1234, 1] = sound[39_999, 1] = -0.5
    found = readings(Edges, sound, RATE_HZ)
    assert found["lead_in_s"] == 1234 / RATE_HZ
    assert found["tail_s"] == 8000 / RATE_HZ
    assert found["zero_head_s"] == found["zero_tail_s"] == 0


@pytest.mark.parametrize(("value", "lead_in"), [(JUST_BELOW, 600), (-JUST_ABOVE, 100)])
def test_the_line_is_at_minus_60(value: float, lead_in: int) -> None:
    sound = np.zeros((1000, 1))
    sound[100], sound[600] = value, 0.5
    assert readings(Edges, sound, RATE_HZ)["lead_in_s"] == lead_in / RATE_HZ


def test_exact_zeros_at_the_ends() -> None:
    sound = np.zeros((1000, 2))
    sound[10, 0] = 2.0**-31
    sound[300, 1] = 0.5
    sound[900, 1] = -(2.0**-31)
    found = readings(Edges, sound, RATE_HZ)
    assert found["zero_head_s"] == 10 / RATE_HZ
    assert found["zero_tail_s"] == 99 / RATE_HZ


@pytest.mark.parametrize(("frames", "longest"), [(4_000, 0), (4_800, 4_800), (20_000, 20_000)])
def test_longest_pause_inside(frames: int, longest: int) -> None:
    """Only silence in every channel at once is a pause; less than 0.1 s is none."""
    sound = noise(RATE_HZ, 2) + 0.01
    sound[np.abs(sound) < 0.002] = 0.002
    sound[30_000 : 30_000 + frames] = 0
    sound[60_000 : 60_000 + 30_000, 0] = 0  # the other channel goes on
    found = readings(Edges, sound, RATE_HZ)
    assert found["inner_silence_longest_s"] == longest / RATE_HZ
    assert found["inner_silence_at_s"] == (30_000 / RATE_HZ if longest else None)


@pytest.mark.parametrize(("head_db", "tail_db", "cuts"), [(-50, -70, (True, False)), (-70, -50, (False, True))])
def test_cut_edges_are_loud_edges(head_db: float, tail_db: float, cuts: tuple[bool, bool]) -> None:
    """Research code calls an edge cut when there is sound above -60 dB within 10 ms of it."""
    sound = noise(RATE_HZ, 1, level_dbfs=-20)
    sound[:480] = noise(RATE_HZ, 0.01, level_dbfs=head_db)
    sound[-480:] = noise(RATE_HZ, 0.01, level_dbfs=tail_db)
    found = readings(Edges, sound, RATE_HZ)
    assert (found["starts_cut"], found["ends_cut"]) == cuts


def test_silence_has_no_edges_but_zeros() -> None:
    found = readings(Edges, np.zeros((4800, 2)), RATE_HZ)
    assert found["zero_head_s"] == found["zero_tail_s"] == 0.1
    assert found["lead_in_s"] is None
    assert why(Edges, np.zeros((4800, 2)), RATE_HZ)["starts_cut"] == "the file is silent"
