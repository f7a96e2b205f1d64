"""The suspicion of pre-emphasis, with noise of a known slope through the curve of 50 and 15 us."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.meters import measure_blocks
from tests.meters.memory import facts
from tests.signals import noise, sine

RATES_HZ = (44_100, 48_000, 88_200, 96_000, 192_000)


def shaped(rate_hz: int, slope_db: float, *, emphasised: bool) -> NDArray[np.float64]:
    """Noise that falls by *slope_db* an octave in the density, through the first-order curve if *emphasised*."""
    spectrum = np.fft.rfft(noise(rate_hz, 4), axis=0)
    hz = np.maximum(np.fft.rfftfreq(4 * rate_hz, 1 / rate_hz), 20)
    gain = (hz / 1000) ** (slope_db / 6.0206)
    if emphasised:
        gain = gain * np.abs((1 + 2j * np.pi * hz * 50e-6) / (1 + 2j * np.pi * hz * 15e-6))
    return np.asarray(np.fft.irfft(spectrum * gain[:, None], 4 * rate_hz, axis=0))


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_noise_before_and_after_the_curve(rate_hz: int) -> None:
    """Closed form: over the 2.82 octaves between both groups third octaves of noise that falls 4.5 dB an octave
    in density fall by 4.2 dB, for each octave is 3 dB wider; the curve adds 6.8 dB."""
    for emphasised in (False, True):
        found = measure_blocks(
            facts(np.zeros((4 * rate_hz, 2)), rate_hz),
            [shaped(rate_hz, -4.5, emphasised=emphasised)],
            only=["pre_emphasis_suspected"],
        )
        assert found.value("pre_emphasis_suspected") is emphasised


def test_a_low_rate_gives_no_answer() -> None:
    sound = noise(22_050, 4)
    found = measure_blocks(facts(sound, 22_050), [sound], only=["pre_emphasis_suspected"])
    assert found["pre_emphasis_suspected"].why_missing == "its sample rate leaves no room up to 12.5 kHz"


def test_a_deep_tone_over_dither_gives_no_answer() -> None:
    sound = sine(50, 48_000, 4, level_dbfs=-6) * [1.0, 1.0] + noise(48_000, 4, level_dbfs=-100)
    found = measure_blocks(facts(sound, 48_000), [sound], only=["pre_emphasis_suspected"])
    assert found["pre_emphasis_suspected"].why_missing == "too dull to tell"
