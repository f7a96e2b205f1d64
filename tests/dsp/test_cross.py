"""Average cross-spectra, through the meter, against arithmetic; and delays that were planted."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.meters.spectrum import Spectrum
from tests.meters.memory import measured, readings, why
from tests.signals import noise, sine

Array = NDArray[np.float64]
RATE_HZ = 44_100


def pinkish(rate_hz: int, seconds: float, seed: int) -> Array:
    """Noise that falls by 3 dB an octave above 20 Hz, one channel."""
    wide = noise(rate_hz, seconds, channels=1, seed=seed)[:, 0]
    spectrum = np.fft.rfft(wide) / np.sqrt(np.maximum(np.fft.rfftfreq(len(wide), 1 / rate_hz), 20))
    shaped = np.fft.irfft(spectrum, len(wide))
    return 0.1 * shaped / shaped.std()


def mix(rate_hz: int, seconds: float = 12) -> Array:
    """A voice in the middle, two parts panned, room in both channels of its own."""
    voice, one, other, left, right = (pinkish(rate_hz, seconds, seed) for seed in range(1, 6))
    return np.stack([voice + one + 0.3 * other + 0.5 * left, voice + 0.3 * one + other + 0.5 * right], axis=1)


@pytest.mark.thorough(3)
@pytest.mark.parametrize("rate_hz", [44_100, 48_000, 96_000])
@pytest.mark.parametrize("frames", [0, 1, 20, -20, 700])
def test_planted_delay_is_found_to_the_frame(rate_hz: int, frames: int) -> None:
    """Positive: the right channel comes later."""
    sound = mix(rate_hz)
    late = abs(frames)
    if frames > 0:
        sound = np.stack([sound[late:, 0], sound[: len(sound) - late, 1]], axis=1)
    elif frames < 0:
        sound = np.stack([sound[: len(sound) - late, 0], sound[late:, 1]], axis=1)
    assert readings(Spectrum, sound, rate_hz)["channel_delay_frames"] == frames


def test_delay_of_an_inverted_channel_is_found_too() -> None:
    sound = mix(RATE_HZ)
    sound = np.stack([sound[20:, 0], -sound[:-20, 1]], axis=1)
    assert readings(Spectrum, sound, RATE_HZ)["channel_delay_frames"] == 20


def test_unrelated_channels_and_tones_have_no_delay() -> None:
    assert readings(Spectrum, noise(RATE_HZ, 10), RATE_HZ)["channel_delay_frames"] == 0
    tone = np.concatenate([sine(440, RATE_HZ, 5), sine(440, RATE_HZ, 5, phase_deg=90)], axis=1)
    assert why(Spectrum, tone, RATE_HZ)["channel_delay_frames"] == "too few frequencies to decide"


def test_mono_loss_by_octave() -> None:
    """0 dB for the same sound, 3.01 for unrelated, nothing left of what is inverted: each in an octave of its own."""
    tones = [sine(hz, RATE_HZ, 8, level_dbfs=-12) for hz in (63, 125, 500, 4000, 1000)]
    quarter = sine(1000, RATE_HZ, 8, level_dbfs=-12, phase_deg=90)
    left = sum(tones)
    right = tones[0] - tones[1] + 0.5 * tones[2] + 0 * tones[3] + quarter
    found = readings(Spectrum, np.concatenate([left, right], axis=1), RATE_HZ)
    losses = dict(zip(found["octave_hz"], found["mono_loss_octaves_db"], strict=True))
    assert losses[63] == pytest.approx(0, abs=0.01)
    assert losses[125] > 20  # what the others leak into this octave is left
    assert losses[500] == pytest.approx(0.4576, abs=0.01)  # 10 lg(2 (1 + 1/4) / (1 + 1/2)^2)
    assert (losses[4000], losses[1000]) == pytest.approx((3.0103, 3.0103), abs=0.01)


@pytest.mark.parametrize(("low", "high", "expected"), [(0.1, 1.0, -20.0), (0.5, 0.5, -6.0206), (1.0, 0.1, 0.0)])
def test_side_against_mid_below(low: float, high: float, expected: float) -> None:
    """A 60 Hz tone with a side/mid ratio of *low*, and a 1 kHz tone outside the band."""
    mid, side = sine(60, RATE_HZ, 8, level_dbfs=-12), sine(1000, RATE_HZ, 8, level_dbfs=-6) * high
    sound = np.concatenate([mid * (1 + low) + side, mid * (1 - low) - side], axis=1)
    found = readings(Spectrum, sound, RATE_HZ)
    assert found["side_mid_below_150_db"] == pytest.approx(expected, abs=0.02)
    assert found["side_mid_below_300_db"] == pytest.approx(expected, abs=0.02)


def test_inverted_and_identical_lows_stop_at_120_db() -> None:
    low = sine(80, RATE_HZ, 4, level_dbfs=-12)
    assert readings(Spectrum, low * [1.0, -1.0], RATE_HZ)["side_mid_below_150_db"] == 120
    assert readings(Spectrum, low * [1.0, 1.0], RATE_HZ)["side_mid_below_150_db"] == -120
    treble = sine(2000, RATE_HZ, 4) * [1.0, 1.0]
    assert why(Spectrum, treble, RATE_HZ)["side_mid_below_150_db"] == "hardly any low frequencies"


@pytest.mark.parametrize(("slope_db", "expected"), [(0.0, 3.01), (3.01, 0.0), (6.02, -3.01)])
def test_tilt_of_white_pink_and_brown_noise(slope_db: float, expected: float) -> None:
    """Third octaves of white noise rise by 3.01 dB an octave, those of pink noise are level."""
    wide = noise(RATE_HZ, 30, seed=4)
    spectrum = np.fft.rfft(wide, axis=0)
    hz = np.fft.rfftfreq(len(wide), 1 / RATE_HZ)
    spectrum *= (np.maximum(hz, 15) / 1000)[:, None] ** (-slope_db / 6.0206)
    shaped = np.fft.irfft(spectrum, len(wide), axis=0)
    found = measured(0.05 * shaped / shaped.std(), RATE_HZ)
    assert found["spectral_tilt_db"].value == pytest.approx(expected, abs=0.1)


def test_levels_are_those_of_a_tone() -> None:
    """A sine of 0.5 in both channels: twice -9.03 dBFS, all of it in its own band; loudness is 6.02 dB under full."""
    found = measured(sine(1000, RATE_HZ, 10, level_dbfs=-6.0206) * [1.0, 1.0], RATE_HZ)
    assert found["spectrum_level_dbfs"].value == pytest.approx(-6.0206, abs=0.01)
    bands = dict(zip(found["third_octave_hz"].value, found["third_octave_re_loudness_db"].value, strict=True))
    assert bands[1000.0] == pytest.approx(0, abs=0.05)
    assert found["third_octave_99_db"].value[16] == pytest.approx(0, abs=0.02)
    assert found["spectral_tilt_db"].why_missing == "some bands hold no sound"


def test_what_99_of_100_windows_stay_under() -> None:
    """It detects bursts that touch a twenty-fifth of the windows, and none that touch a two-hundredth."""
    windows = 400
    at = np.arange(windows * 2) * 8192
    for share, expected in ((16, True), (2, False)):
        sound = noise(RATE_HZ, (windows * 2 * 8192) / RATE_HZ, level_dbfs=-55, seed=6)
        for start in at[:: windows * 2 // share]:
            sound[start : start + 8192] += sine(1000, RATE_HZ, 8192 / RATE_HZ, level_dbfs=-6)
        rare = readings(Spectrum, sound, RATE_HZ)["third_octave_99_db"][16]
        assert (rare > 10) == expected
