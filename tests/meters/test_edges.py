"""Tops, tails and pauses, each placed to the sample."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.meters.edges import Edges
from tests.meters.memory import readings, why
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


@pytest.mark.parametrize(("tail_db", "cut"), [(-20, True), (-49, True), (-51, False), (-70, False)])
def test_an_end_above_minus_50_dbfs_is_cut(tail_db: float, cut: bool) -> None:
    sound = noise(RATE_HZ, 1, level_dbfs=-20)
    sound[-480:] = noise(RATE_HZ, 0.01, level_dbfs=tail_db)
    found = readings(Edges, sound, RATE_HZ)
    assert found["ends_cut"] is cut
    assert found["last_10_ms_dbfs"] == pytest.approx(tail_db, abs=0.5)


@pytest.mark.parametrize("rate_hz", [44_100, 48_000, 88_200, 96_000, 192_000])
@pytest.mark.parametrize(
    ("fade_s", "cut"), [(0.0, True), (0.01, True), (0.05, True), (0.2, False), (0.5, False), (2.0, False)]
)
def test_a_straight_fade_to_silence_is_no_cut_and_a_short_one_is(fade_s: float, cut: bool, rate_hz: int) -> None:
    """Noise of -12 dBFS; a fade of half a second still has -51 dBFS in its last 10 ms, one of 0.2 s -43."""
    sound = noise(rate_hz, 4, level_dbfs=-12)
    frames = round(fade_s * rate_hz)
    sound[len(sound) - frames :] *= np.linspace(1, 0, frames)[:, None] if frames else 1
    found = readings(Edges, sound, rate_hz)
    assert (found["ends_cut"], found["fade_unfinished"]) == (cut, False)


@pytest.mark.parametrize(("phase", "peak", "cut"), [(0.0, 0.5, False), (0.5, 0.5, True), (0.5, 0.005, False)])
def test_a_start_is_cut_if_the_first_sample_is_within_a_sound(phase: float, peak: float, cut: bool) -> None:
    """A tone cut at its zero begins without a click; at 0.48 of its height it clicks, unless it is very soft."""
    tone = peak * np.sin(2 * np.pi * 440 * np.arange(RATE_HZ)[:, None] / RATE_HZ + phase)
    assert readings(Edges, tone, RATE_HZ)["starts_cut"] is cut


def test_a_trimmed_attack_is_no_cut() -> None:
    """The strike begins 1.5 % of full scale high and is louder by 30 dB at once; it masks the step."""
    strike = noise(RATE_HZ, 1, level_dbfs=-9) * np.exp(-np.arange(RATE_HZ) / 4800)[:, None]
    strike[0] = 0.015
    found = readings(Edges, strike, RATE_HZ)
    assert found["first_sample_percent"] == pytest.approx(1.5)
    assert found["starts_cut"] is False


def test_silence_has_no_edges_but_zeros() -> None:
    found = readings(Edges, np.zeros((4800, 2)), RATE_HZ)
    assert found["zero_head_s"] == found["zero_tail_s"] == 0.1
    assert found["lead_in_s"] is None
    assert why(Edges, np.zeros((4800, 2)), RATE_HZ)["starts_cut"] == "the file is silent"


def test_all_inner_silences_are_reported() -> None:
    """Those of half a second or more, in order of time; lead-in and tail are none."""
    sound = noise(RATE_HZ, 8) + 0.01
    sound[np.abs(sound) < 0.002] = 0.002
    for start_s, length_s in ((0.0, 0.7), (1.0, 0.5), (2.0, 0.49), (3.0, 1.25), (7.4, 0.6)):
        sound[round(start_s * RATE_HZ) : round((start_s + length_s) * RATE_HZ)] = 0
    for block in (1_000, 10**9):
        found = readings(Edges, sound, RATE_HZ, block)
        assert found["inner_silences"] == ((1.0, 0.5), (3.0, 1.25))
        assert found["inner_silence_count"] == 2


def test_only_the_twenty_longest_silences_are_listed() -> None:
    sound = np.zeros((RATE_HZ * 30, 1))
    starts = np.cumsum([0.51 + 0.01 * (k * 7 % 25) for k in range(26)])
    sound[np.round(starts * RATE_HZ).astype(int)] = 0.5
    found = readings(Edges, sound, RATE_HZ)
    assert found["inner_silence_count"] == 25
    longest = sorted(np.diff(np.round(starts * RATE_HZ)) - 1)[-20:]
    assert sorted(length for _, length in found["inner_silences"]) == pytest.approx([k / RATE_HZ for k in longest])


@pytest.mark.parametrize("block", [100, 10**9])
def test_noise_floor_before_and_behind(block: int) -> None:
    """Rms of what lies outside the first and last sample above -60 dBFS."""
    sound = np.concatenate([noise(RATE_HZ, 0.3, level_dbfs=-90), np.full((RATE_HZ, 2), 0.1), np.zeros((RATE_HZ, 2))])
    sound[-RATE_HZ // 2 :] = noise(RATE_HZ, 0.5, level_dbfs=-80, seed=2)
    found = readings(Edges, sound, RATE_HZ, block)
    assert found["lead_in_dbfs"] == pytest.approx(-90, abs=0.1)
    assert found["tail_dbfs"] == pytest.approx(-83.01, abs=0.1)
    assert why(Edges, sound[RATE_HZ // 2 :], RATE_HZ)["lead_in_dbfs"] == "no silence of 0.02 s there"
    assert why(Edges, sound[: -RATE_HZ // 2], RATE_HZ)["tail_dbfs"] == "digital silence"


@pytest.mark.parametrize(
    ("end_dbfs", "cut", "unfinished"), [(-48, True, False), (-60, False, True), (-75, False, False)]
)
def test_unfinished_fade(end_dbfs: float, cut: bool, unfinished: bool) -> None:
    """A fade that stops above -70 dBFS is unfinished; one that stops above -50 is a cut."""
    sound = noise(RATE_HZ, 3, seed=5)
    sound[-RATE_HZ:] *= 10 ** (np.linspace(0, end_dbfs + 20, RATE_HZ) / 20)[:, None]
    sound[-2400:] = noise(RATE_HZ, 0.05, level_dbfs=end_dbfs)
    found = readings(Edges, sound, RATE_HZ)
    assert (found["ends_cut"], found["fade_unfinished"]) == (cut, unfinished)
    assert found["last_50_ms_dbfs"] == pytest.approx(end_dbfs, abs=0.3)


@pytest.mark.parametrize("block", [100, 10**9])
def test_steady_noise_at_the_end_is_no_unfinished_fade(block: int) -> None:
    """Room or tape at -60 dBFS is there on purpose; a fade that passes -60 dBFS does not."""
    sound = noise(RATE_HZ, 4, seed=5)
    sound[2 * RATE_HZ :] *= 10 ** (-40 / 20)
    assert readings(Edges, sound, RATE_HZ, block)["fade_unfinished"] is False
    sound[2 * RATE_HZ :] *= 10 ** (np.linspace(20, 0, 2 * RATE_HZ) / 20)[:, None]
    assert readings(Edges, sound, RATE_HZ, block)["fade_unfinished"] is True


def test_a_fade_that_ends_within_the_last_50_ms_is_finished() -> None:
    sound = noise(RATE_HZ, 3, seed=5)
    sound[-RATE_HZ:] *= 10 ** (np.linspace(0, -60, RATE_HZ) / 20)[:, None]
    sound[-480:] *= 1e-3
    found = readings(Edges, sound, RATE_HZ)
    assert found["fade_unfinished"] is False


def test_first_and_last_sample() -> None:
    sound = np.zeros((5_000, 2))
    sound[0], sound[-1], sound[100] = (0.01, -0.25), (0.0, 0.03), 0.5
    found = readings(Edges, sound, RATE_HZ)
    assert (found["first_sample_percent"], found["last_sample_percent"]) == (25, 3)
