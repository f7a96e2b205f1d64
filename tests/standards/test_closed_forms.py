"""Peaks, levels, crest, loudness and density of tones in closed form, at six layouts and five rates.

Every channel has a tone of one frequency and an amplitude of its own, one channel is silent, and one has an offset.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.meters import measure_blocks
from delivery.model.figure import Measurement
from tests.meters.memory import cut, facts
from tests.standards.test_loudness import LAYOUTS as SURROUND

Array = NDArray[np.float64]
RATES_HZ = (44_100, 48_000, 88_200, 96_000, 192_000)
LAYOUTS = {"2.0": ("L R", (1.0, 1.0))} | {name: SURROUND[name] for name in ("4.0", "5.1", "7.1", "5.1.4", "7.1.4")}
HZ, SECONDS = 997.0, 3
FIGURES = (
    *("sample_peaks_dbfs", "true_peaks_dbtp", "true_peak_dbtp", "rms_dbfs", "programme_rms_dbfs", "integrated_lufs"),
    *("programme_rms_aes17_dbfs", "crest_factor_db", "plr_db", "dead_channels", "dc_offset_percent"),
)
PEAK_DB, OFFSET = 0.006, 0.02
"""A sample of 3 s of 997 Hz lies within a degree of the summit at any of these rates; a degree is 0.0013 dB."""


def amplitudes(channels: int) -> Array:
    return np.asarray(0.5 * 0.8 ** np.arange(channels))


@pytest.fixture(scope="module", params=[(layout, rate_hz) for layout in LAYOUTS for rate_hz in RATES_HZ], ids=str)
def case(request: pytest.FixtureRequest) -> tuple[Measurement, Array, Array]:
    """What is measured, the amplitudes and the weights by channel."""
    layout, rate_hz = request.param
    names, weights = LAYOUTS[layout]
    speakers = names.split()
    tone = np.sin(2 * np.pi * HZ * np.arange(SECONDS * rate_hz) / rate_hz)
    sound = tone[:, None] * amplitudes(len(speakers))
    return (
        measure_blocks(facts(sound, rate_hz, speakers=speakers), cut(sound, 65_536), only=FIGURES),
        amplitudes(len(speakers)),
        np.array(weights),
    )


def decibels(value: float) -> float:
    return 20 * math.log10(value)


def test_peaks(case: tuple[Measurement, Array, Array]) -> None:
    """The peak of a sine is its amplitude."""
    found, each, _ = case
    wanted = [decibels(amplitude) for amplitude in each]
    assert found.value("sample_peaks_dbfs") == pytest.approx(wanted, abs=PEAK_DB)
    assert found.value("true_peaks_dbtp") == pytest.approx(wanted, abs=PEAK_DB)
    assert found.value("true_peak_dbtp") == pytest.approx(wanted[0], abs=PEAK_DB)


def test_levels_and_crest(case: tuple[Measurement, Array, Array]) -> None:
    """A sine's rms is its amplitude over root 2; AES17 adds 3.01 dB; the programme is its channels' power mean."""
    found, each, _ = case
    programme = decibels(math.sqrt(float(np.mean(each**2)) / 2))
    assert found.value("programme_rms_dbfs") == pytest.approx(programme, abs=0.002)
    assert found.value("programme_rms_aes17_dbfs") == pytest.approx(programme + decibels(math.sqrt(2)), abs=0.002)
    assert found.value("dead_channels") == ()
    assert found.value("dc_offset_percent") < 0.01


def test_loudness_and_density(case: tuple[Measurement, Array, Array]) -> None:
    """BS.1770-5: -0.691 + 10 log10 of the weighted powers behind the K-weighting, 0.691 dB at 997 Hz."""
    found, each, weights = case
    lufs = 10 * math.log10(float(np.sum(weights * each**2 / 2)))
    assert found.value("integrated_lufs") == pytest.approx(lufs, abs=0.003)
    assert found.value("plr_db") == pytest.approx(decibels(each[0]) - lufs, abs=0.01)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("layout", LAYOUTS)
def test_silent_and_offset_channels_are_named_in_any_layout(layout: str, rate_hz: int) -> None:
    names, _ = LAYOUTS[layout]
    speakers = names.split()
    tone = np.sin(2 * np.pi * HZ * np.arange(2 * rate_hz) / rate_hz)
    sound = tone[:, None] * amplitudes(len(speakers))
    sound[:, 1] = 0.0
    sound[:, -1] += OFFSET if len(speakers) > 2 else 0.0
    sound[:, 0] += OFFSET if len(speakers) == 2 else 0.0
    found = measure_blocks(facts(sound, rate_hz, speakers=speakers), cut(sound, 65_536), only=FIGURES)
    assert found.value("dead_channels") == (2,)
    assert found.value("dc_offset_percent") == pytest.approx(100 * OFFSET, abs=0.01)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("noise_db", [-20.0, -50.0])
def test_residual_of_two_channels_in_closed_form(rate_hz: int, noise_db: float) -> None:
    """Right is left at another gain and an independent noise: what is left after the best gain is the noise's share."""
    rng = np.random.default_rng(3)
    left, own = rng.standard_normal((2, 4 * rate_hz)) * 0.1
    right = 0.7 * left + 0.7 * own * 10 ** (noise_db / 20)
    sound = np.stack([left, right], axis=1)
    found = measure_blocks(facts(sound, rate_hz), cut(sound, 65_536), only=["channel_residual_db"])
    share = 10 ** (noise_db / 10)
    assert found.value("channel_residual_db") == pytest.approx(10 * math.log10(share / (1 + share)), abs=0.1)


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_one_channel_as_two_and_the_place_of_opposed_bass(rate_hz: int) -> None:
    """BS.1770-5: twice the power is 3.01 LU. Bass is opposed from 5 to 8 s: the lowest 3 s begin at 5 s."""
    tone = 0.1 * np.sin(2 * np.pi * HZ * np.arange(2 * rate_hz) / rate_hz)[:, None]
    found = measure_blocks(facts(tone, rate_hz), [tone], only=["dual_mono_integrated_lufs"])
    one = measure_blocks(facts(tone, rate_hz), [tone], only=["integrated_lufs"]).value("integrated_lufs")
    assert found.value("dual_mono_integrated_lufs") - one == pytest.approx(10 * math.log10(2), abs=1e-9)
    t = np.arange(12 * rate_hz) / rate_hz
    bass = 0.2 * np.sin(2 * np.pi * 60 * t)
    sound = np.stack([bass, np.where((t >= 5) & (t < 8), -bass, bass)], axis=1)
    found = measure_blocks(facts(sound, rate_hz), cut(sound, 65_536), only=["low_band_at_s"])
    assert found.value("low_band_at_s") == pytest.approx((5.0,) * 5, abs=0.11)
    assert found.value("low_band_correlations_min") == pytest.approx((-1.0,) * 5, abs=0.05)
