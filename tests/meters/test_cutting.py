"""Velocity and acceleration of a cutting stylus: tones of known velocity, and a table of the recording curve."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from delivery.__main__ import run
from delivery.dsp.cutting.recording_curve import response
from delivery.meters.cutting import Cutting, at_reference
from delivery.model.figure import Measurement, Reading
from tests.meters.memory import facts, measured, readings
from tests.signals import noise, sine

RATES_HZ = (44_100, 48_000, 88_200, 96_000, 192_000)
REFERENCE_CM_S = 5 * math.sqrt(2)
TABLE_DB = {20: -19.3, 50: -17.0, 100: -13.1, 500: -2.6, 1000: 0.0, 2000: 2.6, 5000: 8.2, 10_000: 13.7, 20_000: 19.6}
"""Recording curve of IEC 60098 as handbooks print it, to 0.1 dB; from memory."""


def faded(hz: float, rate_hz: int, level_dbfs: float = -18.0) -> NDArray[np.float64]:
    """A tone without a step at either end: a step is fast itself."""
    tone: NDArray[np.float64] = sine(hz, rate_hz, 2, level_dbfs=level_dbfs)
    from_edge = np.minimum(np.arange(len(tone)), np.arange(len(tone))[::-1]) / (0.3 * rate_hz)
    return np.asarray(tone * np.sin(np.pi / 2 * np.minimum(from_edge, 1))[:, None] ** 2, np.float64)


@pytest.mark.parametrize(("hz", "level_db"), TABLE_DB.items())
def test_the_curve_is_that_of_the_handbooks(hz: int, level_db: float) -> None:
    assert 20 * np.log10(abs(response(np.array([float(hz)]))[0])) == pytest.approx(level_db, abs=0.06)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("hz", [50, 1000, 5000, 17_000, 19_900])
def test_a_lateral_tone(hz: int, rate_hz: int) -> None:
    """Closed form: the reference times the curve; the acceleration of a sine is its velocity times 2 pi f."""
    found = readings(Cutting, faded(hz, rate_hz) * [1.0, 1.0], rate_hz)
    velocity_cm_s = REFERENCE_CM_S * abs(response(np.array([float(hz)]))[0])
    acceleration_g = velocity_cm_s / 100 * 2 * math.pi * hz / 9.80665
    assert found["lateral_velocity_peak_cm_s"] == pytest.approx(velocity_cm_s, rel=0.004)
    assert found["lateral_acceleration_peak_g"] == pytest.approx(acceleration_g, rel=0.004)
    assert found["vertical_velocity_peak_cm_s"] == found["vertical_acceleration_peak_g"] == 0.0
    assert found["vertical_velocity_peak_at_s"] is None


@pytest.mark.parametrize(("channels", "lateral", "vertical"), [((1, -1), 0, 1), ((1, 0), 0.5, 0.5), ((1, 1), 1, 0)])
def test_left_and_right_share_both_directions(channels: tuple[int, int], lateral: float, vertical: float) -> None:
    """One wall alone moves the stylus at 45 degrees: half of what both give in either direction."""
    found = readings(Cutting, faded(1000, 48_000) * np.array(channels), 48_000)
    assert found["lateral_velocity_peak_cm_s"] == pytest.approx(REFERENCE_CM_S * lateral, rel=0.002)
    assert found["vertical_velocity_peak_cm_s"] == pytest.approx(REFERENCE_CM_S * vertical, rel=0.002)


def test_one_channel_is_cut_laterally() -> None:
    found = readings(Cutting, faded(1000, 48_000), 48_000)
    assert found["lateral_velocity_peak_cm_s"] == pytest.approx(REFERENCE_CM_S, rel=0.002)
    assert found["vertical_velocity_peak_cm_s"] == 0.0


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_the_place_of_a_burst(rate_hz: int) -> None:
    sound = faded(1000, rate_hz) * [1.0, 1.0]
    at = int(1.2345 * rate_hz)
    sound[at : at + rate_hz // 1000] += sine(9000, rate_hz, 1, level_dbfs=-6)[: rate_hz // 1000] * [1.0, -1.0]
    found = readings(Cutting, sound, rate_hz)
    assert found["vertical_velocity_peak_at_s"] == pytest.approx(1.235, abs=0.001)
    assert found["vertical_acceleration_peak_at_s"] == pytest.approx(1.235, abs=0.001)


@pytest.mark.parametrize("rate_hz", [44_100, 96_000])
def test_noise_against_one_long_transform(rate_hz: int) -> None:
    """Independent: the whole sound through the curve in one transform of scipy, interpolated to 16 times the rate."""
    signal = pytest.importorskip("scipy.signal")
    rng = np.random.default_rng(7)
    low = signal.butter(2, 8000, fs=rate_hz)
    sound = signal.lfilter(*low, noise(rate_hz, 6, channels=2, level_dbfs=-20, seed=3), axis=0)
    sound *= 0.2 + 0.8 * rng.random(6).repeat(rate_hz)[:, None]
    found = readings(Cutting, sound, rate_hz)
    both = np.concatenate([np.zeros(rate_hz), sound.sum(axis=1), np.zeros(rate_hz)]) / math.sqrt(2)
    spectrum, hz = np.fft.rfft(both), np.fft.rfftfreq(len(both), 1 / rate_hz)
    _, curve = signal.freqs([3180e-6 * 75e-6, 3255e-6, 1], [318e-6, 1], 2 * np.pi * np.append(hz, 1000.0))
    fall = np.cos(np.pi / 2 * np.clip((hz - 20_000) / 2050, 0, 1)) ** 2
    velocity = spectrum * curve[:-1] / abs(curve[-1]) * fall * 5 / 10 ** (-18 / 20)
    for name, unit, each in (
        ("velocity_peak_cm_s", 1, velocity),
        ("acceleration_peak_g", 980.665, velocity * 2j * np.pi * hz),
    ):
        motion = np.abs(np.fft.irfft(each, 16 * len(both)) * 16)
        assert found[f"lateral_{name}"] == pytest.approx(motion.max() / unit, rel=0.005)


def test_another_reference_scales_values_and_no_places() -> None:
    """6.02 dB is a factor of two; a reference twice as high halves what a file of the same level cuts."""
    before = readings(Cutting, faded(1000, 48_000) * [1.0, 0.5], 48_000)
    after = at_reference(
        Measurement({name: Reading(value) for name, value in before.items()}), -18 + 20 * math.log10(2)
    )
    assert after.value("cutting_reference_dbfs") == pytest.approx(-11.979, abs=0.001)
    for name, value in before.items():
        if name.endswith(("_cm_s", "_g")):
            assert after.value(name) == pytest.approx(value / 2)
        elif name.endswith("_at_s"):
            assert after.value(name) == value


def test_without_two_channels_or_room_for_treble_there_is_none() -> None:
    low = Cutting(facts(noise(32_000, 1), 32_000))
    low.update(noise(32_000, 1))
    assert low.result()[1].why_missing == "only from 44.1 kHz on"
    meter = Cutting(facts(noise(48_000, 1, channels=6), 48_000))
    meter.update(noise(48_000, 1, channels=6))
    assert meter.result()[1].why_missing == "only for one or two channels"


def test_without_a_stated_level_there_is_none() -> None:
    """Without a reference level velocity is undefined, and measuring it would slow down every file."""
    why = measured(noise(48_000, 2, channels=2), 48_000)["lateral_velocity_peak_cm_s"].why_missing
    assert why == "no level is stated: delivery measure --cutting-reference -18"


def test_the_command_states_a_level(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A tone at the stated level cuts the reference."""
    soundfile.write(tmp_path / "tone.wav", faded(1000, 48_000, -12.0) * [1.0, 1.0], 48_000, subtype="PCM_24")
    run(["measure", str(tmp_path / "tone.wav"), "--json", "--no-cache", "--cutting-reference", "-12"])
    (file,) = json.loads(capsys.readouterr().out)["files"]
    assert file["measurement"]["lateral_velocity_peak_cm_s"] == pytest.approx(REFERENCE_CM_S, abs=0.01)
    assert file["measurement"]["cutting_reference_dbfs"] == -12
