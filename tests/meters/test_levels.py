"""Level and offset of every channel, against arithmetic."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.meters.levels import Levels
from tests.meters.memory import measured, readings, why
from tests.signals import noise, sine

RATE_HZ = 48_000


@pytest.mark.parametrize("offset", [0.0, 0.0002, -0.01])
def test_dc_offset(offset: float) -> None:
    """A whole number of periods has no mean of its own."""
    sound = sine(100, RATE_HZ, 2) * [0.5, 0.4] + [0.0, offset]
    found = readings(Levels, sound, RATE_HZ)
    assert found["dc_offset_percent"] == pytest.approx(100 * abs(offset), abs=1e-9)
    assert found["dc_offsets_percent"] == pytest.approx((0.0, 100 * offset), abs=1e-9)


def test_worst_second_of_offset() -> None:
    """An offset that comes and goes, and cancels over the file, is found where it is.

    Closed form: a Hann window of 2 s has 1/2 + 1/pi of its weight in its middle second.
    """
    sound = sine(100, RATE_HZ, 7.5) * [0.3, 0.3]
    sound[2 * RATE_HZ : 3 * RATE_HZ, 1] -= 0.004
    sound[5 * RATE_HZ : 6 * RATE_HZ, 1] += 0.003
    found = readings(Levels, sound, RATE_HZ)
    assert found["dc_offset_1s_percent"] == pytest.approx(0.4 * (0.5 + 1 / np.pi), rel=0.005)
    assert found["dc_offset_1s_at_s"] == pytest.approx(2)
    sound[3 * RATE_HZ : 5 * RATE_HZ, 0] += 0.01
    found = readings(Levels, sound, RATE_HZ, block=1000)
    assert found["dc_offset_1s_percent"] == pytest.approx(1.0, abs=1e-3)
    assert found["dc_offset_1s_at_s"] == pytest.approx(3.5)
    assert why(Levels, sound[: RATE_HZ // 2], RATE_HZ)["dc_offset_1s_percent"] == "too short: under 1 s"


@pytest.mark.parametrize("rate_hz", [44_100, 48_000, 88_200, 96_000, 192_000])
@pytest.mark.parametrize("frequency_hz", [15, 17.3, 20.6, 27.5, 29.7, 31.1, 40.3, 49.4, 60.7])
def test_sub_bass_is_no_offset(frequency_hz: float, rate_hz: int) -> None:
    """A full-scale bass note reads under 0.1 %, where the mean of its worst second reads up to 2 %; an offset stays."""
    bass = sine(frequency_hz, rate_hz, 3.03)
    assert readings(Levels, bass, rate_hz)["dc_offset_1s_percent"] < (0.4 if frequency_hz < 20 else 0.1)
    assert readings(Levels, bass + 0.01, rate_hz)["dc_offset_1s_percent"] == pytest.approx(1.0, abs=0.4)


def test_rms_states_its_convention() -> None:
    """AES17: the rms of a full-scale sine is 0 dBFS; by full scale 1.0 it is 10 lg 1/2."""
    found = readings(Levels, sine(997, RATE_HZ, 2), RATE_HZ)
    assert found["programme_rms_dbfs"] == pytest.approx(-3.0103, abs=1e-4)
    assert found["programme_rms_aes17_dbfs"] == pytest.approx(0.0, abs=1e-4)


@pytest.mark.parametrize(("wave", "crest_db"), [("sine", 3.0103), ("square", 0.0), ("triangle", 4.7712)])
def test_crest_factors_of_the_textbook(wave: str, crest_db: float) -> None:
    """Peak over rms: root of 2 for a sine, 1 for a square, root of 3 for a triangle; softer channels do not count."""
    n = np.arange(RATE_HZ)
    phase = 2 * np.pi * (n + 0.5) / 4800
    shapes = {"sine": np.sin(phase), "square": np.sign(np.sin(phase)), "triangle": 2 / np.pi * np.arcsin(np.sin(phase))}
    sound = np.stack([0.1 * noise(RATE_HZ, 1, channels=1)[:, 0], 0.5 * shapes[wave]], axis=1)
    found = measured(sound, RATE_HZ)
    assert found["crest_factor_db"].value == pytest.approx(crest_db, abs=0.02)
    assert found["rms_dbfs"].value[1] == pytest.approx(20 * np.log10(0.5) - crest_db, abs=0.02)
    assert measured(np.zeros((RATE_HZ, 2)), RATE_HZ)["crest_factor_db"].why_missing == "the file is silent"


def test_quietest_moment_leaves_out_zeros() -> None:
    """Room noise of -70 dBFS in both channels for half a second, among music and a stretch of exact zeros."""
    sound = noise(RATE_HZ, 5, level_dbfs=-20)
    sound[2 * RATE_HZ : 2 * RATE_HZ + RATE_HZ // 2] = noise(RATE_HZ, 0.5, level_dbfs=-70, seed=3)
    sound[4 * RATE_HZ :] = 0
    found = readings(Levels, sound, RATE_HZ)
    assert found["quietest_dbfs"] == pytest.approx(-70, abs=0.2)
    assert found["quietest_at_s"] in (2.0, 2.1)
    assert why(Levels, np.zeros((RATE_HZ, 2)), RATE_HZ)["quietest_dbfs"] == "the file is silent"


def test_rms_of_the_programme_is_the_power_mean_of_its_channels() -> None:
    """Closed form: sines of 0 and -20 dBFS peak have mean squares of 1/2 and 1/200, so 10 lg 0.2525 together."""
    sound = sine(100, RATE_HZ, 2) * [1.0, 0.1]
    assert readings(Levels, sound, RATE_HZ)["programme_rms_dbfs"] == pytest.approx(10 * np.log10(0.2525), abs=1e-6)
    assert why(Levels, np.zeros((RATE_HZ, 2)), RATE_HZ)["programme_rms_dbfs"] == "the file is silent"


def test_noise_floor_is_between_words_not_in_gated_pauses() -> None:
    """Noise of -62 dBFS rms for a second among louder sound; half a second of zeros and its edges do not count."""
    sound = noise(RATE_HZ, 6, level_dbfs=-20)
    sound[2 * RATE_HZ : 3 * RATE_HZ] = noise(RATE_HZ, 1, level_dbfs=-62, seed=3)
    sound[int(4.03 * RATE_HZ) : int(4.57 * RATE_HZ)] = 0
    found = readings(Levels, sound, RATE_HZ)
    expected = min(
        10 * np.log10(np.mean(sound[at : at + RATE_HZ // 2] ** 2))
        for at in range(2 * RATE_HZ, int(2.55 * RATE_HZ), RATE_HZ // 10)
    )
    assert found["noise_floor_dbfs"] == pytest.approx(expected, abs=1e-6)
    assert found["noise_floor_dbfs"] == pytest.approx(-62, abs=0.2)
    assert 2.0 <= found["noise_floor_at_s"] <= 2.5
    gated = np.tile(np.concatenate([np.zeros((RATE_HZ // 5, 2)), np.full((RATE_HZ // 5, 2), 0.1)]), (10, 1))
    assert why(Levels, gated, RATE_HZ)["noise_floor_dbfs"] == "no 0.5 s without digital silence"
    assert why(Levels, sound[: RATE_HZ // 3], RATE_HZ)["noise_floor_dbfs"] == "too short: under 0.5 s"
