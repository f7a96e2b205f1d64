"""Time and samples above ceilings, and time out of phase: each against what was made."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.dsp.peaks.peak_events import CEILINGS_DBTP
from delivery.meters.levels import Levels
from delivery.meters.low_band import BANDS_HZ, LowBand
from delivery.meters.samples_above import SamplesAbove
from delivery.meters.true_peak import TruePeak
from tests.meters.memory import readings
from tests.signals import noise, sine

RATES_HZ = (44_100, 48_000, 88_200, 96_000, 192_000)


@pytest.mark.parametrize("channels", [1, 2, 6])
@pytest.mark.parametrize("block", [97, 32_768])
def test_samples_above_ceilings_are_those_numpy_counts(channels: int, block: int) -> None:
    sound = noise(48_000, 1.3, channels=channels, level_dbfs=-6)
    sound[100, 0] = -1.0
    found = readings(SamplesAbove, sound, 48_000, block=block)
    expected = tuple(int((np.abs(sound) > 10 ** (ceiling / 20)).sum()) for ceiling in CEILINGS_DBTP)
    assert found["samples_above_count"] == expected
    assert found["samples_above_dbfs"] == CEILINGS_DBTP
    assert expected[0] < expected[-1]


def test_quiet_sound_is_above_no_ceiling() -> None:
    assert set(readings(SamplesAbove, sine(100, 48_000, 1, level_dbfs=-3.01), 48_000)["samples_above_count"]) == {0}


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_time_above_a_ceiling(rate_hz: int) -> None:
    """A tone of 997 Hz is at -1.55 dBTP for 2 s and at -0.55 for 1 s, in every 10 ms; 0.02 s for what swings beyond."""
    sound = sine(997, rate_hz, 5, level_dbfs=-1.55)
    sound[: 2 * rate_hz] *= 0.5
    sound[4 * rate_hz :] *= 10 ** (1 / 20)
    found = readings(TruePeak, sound, rate_hz)
    time_s = dict(zip(found["ceilings_dbtp"], found["time_above_ceilings_s"], strict=True))
    assert time_s[-0.6] == pytest.approx(1, abs=0.021)
    assert time_s[-1.0] == pytest.approx(1, abs=0.021)
    assert time_s[-1.6] == pytest.approx(3, abs=0.021)
    assert time_s[-3.0] == pytest.approx(3, abs=0.021)
    assert time_s[-0.5] == time_s[0.0] == 0


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_time_out_of_phase_by_band(rate_hz: int) -> None:
    """170 Hz turned over for 4 s: windows of 3 s lose their correlation where more than half of them is turned.

    Bands that end below it hold it too, 24 dB per octave softer; all windows are loud enough.
    """
    sound = sine(170, rate_hz, 20, level_dbfs=-6) * [1.0, 1.0]
    sound[8 * rate_hz : 12 * rate_hz, 1] *= -1
    found = readings(LowBand, sound, rate_hz)
    assert found["low_band_below_zero_s"] == pytest.approx([4.0] * len(BANDS_HZ), abs=0.21)
    sound[:, 1] = sound[:, 0]
    assert set(readings(LowBand, sound, rate_hz)["low_band_below_zero_s"]) == {0}


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize(
    ("frequency_hz", "a_db", "itu_db"), [(1000, 0.0, 0.0), (4000, 0.96, 10.5), (100, -19.15, -19.8)]
)
def test_weighted_noise_floor(rate_hz: int, frequency_hz: float, a_db: float, itu_db: float) -> None:
    """The quietest half second of a loud piece holds one soft tone: both documents' tables say what is left of it."""
    sound = noise(rate_hz, 4, level_dbfs=-20)
    soft = slice(2 * rate_hz, int(2.7 * rate_hz))
    sound[soft] = sine(frequency_hz, rate_hz, 4, level_dbfs=-60)[soft]
    sound[3 * rate_hz : int(3.2 * rate_hz)] = 0  # digital silence is no noise floor
    found = readings(Levels, sound, rate_hz, block=10_000)
    assert found["noise_floor_dbfs"] == pytest.approx(-63.01, abs=0.05)
    assert found["noise_floor_a_weighted_dbfs"] == pytest.approx(-63.01 + a_db, abs=0.15)
    assert found["noise_floor_468_weighted_dbfs"] == pytest.approx(-63.01 + itu_db, abs=0.2)
