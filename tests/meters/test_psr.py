"""Peak to short-term loudness, against the definition written out again and against arithmetic."""

from __future__ import annotations

import numpy as np
import pytest

from tests.meters.memory import measured
from tests.signals import noise, sine

RATE_HZ = 48_000


def test_a_steady_tone_has_the_difference_of_its_peak_and_its_loudness() -> None:
    """997 Hz at full scale in both channels: 0 dBTP and 0 LUFS (BS.1770-5, Annex 1: -3.01 in one channel)."""
    found = measured(sine(997, RATE_HZ, 6) * [1.0, 1.0], RATE_HZ)
    assert found["psr_min_db"].value == pytest.approx(0.0, abs=0.05)
    assert found["psr_low_db"].value == pytest.approx(0.0, abs=0.05)


def test_least_and_low_ratio_are_where_the_sound_is_dense() -> None:
    """Computed again from the curves: every second a window of 3 s; windows 20 LU below are left out."""
    sound = noise(RATE_HZ, 60, level_dbfs=-20)
    sound[20 * RATE_HZ : 24 * RATE_HZ] = np.clip(3 * sound[20 * RATE_HZ : 24 * RATE_HZ], -0.2, 0.2)
    sound[40 * RATE_HZ : 46 * RATE_HZ] = np.clip(1e-3 * sound[40 * RATE_HZ : 46 * RATE_HZ], -5e-5, 5e-5)
    found = measured(sound, RATE_HZ)
    peaks, loudness = found["peak_curve_dbtp"].value, found["short_term_curve_lufs"].value
    ratios = {
        at: max(peaks[at : at + 3]) - loudness[at]
        for at in range(58)
        if loudness[at] > found["integrated_lufs"].value - 20
    }
    assert found["psr_min_db"].value == pytest.approx(min(ratios.values()))
    assert found["psr_min_at_s"].value in (20, 21)
    assert 40 not in ratios
    assert found["psr_low_db"].value == pytest.approx(np.percentile(list(ratios.values()), 5, method="nearest"))


def test_too_short_and_silent_have_no_ratio() -> None:
    assert measured(noise(RATE_HZ, 2.5), RATE_HZ)["psr_min_db"].why_missing == "too short: under 3 s"
    assert measured(np.zeros((RATE_HZ * 4, 2)), RATE_HZ)["psr_min_db"].why_missing == "the file is silent"


@pytest.mark.thorough(2)
@pytest.mark.parametrize(
    ("programme_lufs", "quiet_lufs", "requested"),
    [(-20.0, -39.7, True), (-20.0, -40.3, False), (-51.5, -69.7, True), (-51.5, -70.3, False)],
    ids=["19.7 LU below", "20.3 LU below", "above -70 LUFS", "below -70 LUFS"],
)
def test_windows_more_than_20_lu_below_the_programme_are_left_out(
    programme_lufs: float, quiet_lufs: float, requested: bool
) -> None:
    """The gates as the figure's own sentence states them. A tone has a ratio of 0 dB, noise of several."""
    loud = noise(RATE_HZ, 40, channels=2)
    loud *= 10 ** ((programme_lufs - measured(loud, RATE_HZ)["integrated_lufs"].value) / 20)
    tone = 10 ** (quiet_lufs / 20) * sine(997, RATE_HZ, 8) * [1.0, 1.0]
    found = measured(np.concatenate([loud, tone]), RATE_HZ)
    assert found["integrated_lufs"].value == pytest.approx(programme_lufs, abs=0.1)
    assert (found["psr_min_db"].value < 1) is requested
