"""The side signal by octave over time, against tones of known level and polarity."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.meters import measure_blocks
from tests.meters.memory import cut, facts
from tests.signals import noise, sine

RATES_HZ = (44_100, 48_000, 88_200, 96_000, 192_000)
FIGURES = ("side_hz", "side_max_dbfs", "side_max_starts_s", "out_of_phase_s", "octaves_over_time", "duration_s")


def found(sound: np.ndarray, rate_hz: int) -> dict[str, dict[float, float]]:
    """Each figure by octave."""
    measured = measure_blocks(facts(sound, rate_hz), cut(sound, 32_768), only=FIGURES)
    hz = measured.value("side_hz")
    return {name: dict(zip(hz, measured.value(name), strict=True)) for name in FIGURES[1:4]}


@pytest.mark.thorough(3)
@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("tone_hz", [63.1, 1000.0, 7943.0])
def test_a_burst_of_side(rate_hz: int, tone_hz: float) -> None:
    """Closed form: sines of -20 dBFS and opposite polarity are all side, whose level is -20 over six of 18 s."""
    octave = min((63.0, 1000.0, 8000.0), key=lambda hz: abs(hz - tone_hz))
    both = sine(tone_hz, rate_hz, 18, level_dbfs=-30) * [1.0, 1.0]
    both[6 * rate_hz : 12 * rate_hz] = sine(tone_hz, rate_hz, 6, level_dbfs=-20) * [1.0, -1.0]
    figures = found(both, rate_hz)
    assert figures["side_max_dbfs"][octave] == pytest.approx(-20.0, abs=0.1)
    assert 6.0 <= figures["side_max_starts_s"][octave] < 12.0
    assert figures["out_of_phase_s"][octave] == pytest.approx(6.0, abs=1.5)  # windows reach over a stretch's ends


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_unrelated_channels_share_their_level_between_mid_and_side(rate_hz: int) -> None:
    """Of two unrelated noises half the power is side; each octave is never out of phase for long or at all in phase."""
    sound = noise(rate_hz, 12, channels=2, level_dbfs=-20, seed=5)
    measured = measure_blocks(facts(sound, rate_hz), cut(sound, 32_768), only=FIGURES)
    rows = np.array(measured.value("octaves_over_time"))
    treble = rows[rows[:, 1] == 4000.0]
    assert len(treble) == 8
    assert np.mean(10 ** (treble[:, 3] / 10)) == pytest.approx(np.mean(10 ** (treble[:, 2] / 10)), rel=0.05)


def test_mono_is_never_out_of_phase_and_its_side_is_silent() -> None:
    sound = noise(48_000, 9, channels=1, level_dbfs=-20) * [1.0, 1.0]
    figures = found(sound, 48_000)
    assert set(figures["out_of_phase_s"].values()) == {0.0}
    assert max(figures["side_max_dbfs"].values()) == -120.0


def test_silence_between_is_no_time_out_of_phase() -> None:
    """Only the first four of 12 s sound, and they are in phase below 2 kHz and out of phase above."""
    low, high = sine(500, 48_000, 4, level_dbfs=-20), sine(4000, 48_000, 4, level_dbfs=-20)
    sound = np.zeros((12 * 48_000, 2))
    sound[: len(low)] = low * [1.0, 1.0] + high * [1.0, -1.0]
    figures = found(sound, 48_000)
    assert figures["out_of_phase_s"][4000.0] == pytest.approx(4.5, abs=1.5)
    assert figures["out_of_phase_s"][500.0] == 0.0
