"""Gates and percentiles of loudness range, compared with the numbers of EBU Tech 3342."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.dsp.loudness.gating import loudness_range_lu, power_of


def powers(*lufs: float) -> np.ndarray:
    return np.array([power_of(value) for value in lufs])


@pytest.mark.parametrize(("lowest", "highest"), [(-40.0, -25.0), (-30.0, -12.0)])
def test_from_the_10th_to_the_95th_percentile(lowest: float, highest: float) -> None:
    """EBU Tech 3342, 3: PRC_LOW is 10, PRC_HIGH is 95. Levels spread evenly, all of them within the gate."""
    even = powers(*np.linspace(lowest, highest, 1001))
    low, high = np.percentile(np.linspace(lowest, highest, 1001), (10, 95))
    assert loudness_range_lu(even) == pytest.approx(high - low, abs=0.02)  # a step is 0.018 LU


@pytest.mark.parametrize(("below_lu", "kept"), [(19.8, True), (20.2, False)])
def test_what_is_more_than_20_lu_below_the_mean_is_left_out(below_lu: float, kept: bool) -> None:
    """EBU Tech 3342, 3: the relative threshold lies 20 LU below the mean of what passes the absolute one."""
    quiet, loud = 200, 800
    mean_lufs = -20 + 10 * np.log10((loud + quiet * 10 ** (-below_lu / 10)) / (loud + quiet))  # within 0.01 LU
    quiet_lufs = mean_lufs - below_lu
    found = loudness_range_lu(powers(*[-20.0] * loud, *[quiet_lufs] * quiet))
    assert found == pytest.approx(-20 - quiet_lufs if kept else 0.0, abs=0.05)


@pytest.mark.parametrize(("quiet_lufs", "kept"), [(-69.9, True), (-70.1, False)])
def test_what_is_below_70_lufs_is_left_out(quiet_lufs: float, kept: bool) -> None:
    """EBU Tech 3342, 3: the absolute threshold is -70 LUFS."""
    found = loudness_range_lu(powers(*[-60.0] * 800, *[quiet_lufs] * 200))
    assert found == pytest.approx(-60 - quiet_lufs if kept else 0.0, abs=0.01)
