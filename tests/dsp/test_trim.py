"""The least trim: found by trying, on encoders invented for the purpose."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from delivery.dsp.peaks.trim import MOST_STEPS, STEP_DB, least_trim


@given(st.floats(0.01, 9), st.integers(0, 2**31), st.floats(0, 0.8))
@example(over_db=0.010000000000000002, seed=0, roughness_db=0.0)  # after 0.01 dB, 2e-18 dB too many are left
def test_the_trim_does_and_one_a_step_less_does_not(over_db: float, seed: int, roughness_db: float) -> None:
    """An encoder whose peak follows the gain roughly: wherever the result is, one step above it exceeded the limit."""
    chance = np.random.default_rng(seed).uniform(-roughness_db, 0, 4_000)
    requested: dict[float, float] = {}

    def peak_at(gain_db: float) -> float:
        requested[gain_db] = over_db + gain_db + (float(chance[round(-100 * gain_db) % 4_000]) if gain_db else 0.0)
        return requested[gain_db]

    found = least_trim(peak_at, peak_at(0.0))
    assert found
    gain_db, peak_db = found
    assert peak_db <= 0
    assert requested[gain_db] == peak_db
    least_short_db = min(tried for tried, peak in requested.items() if peak > 0 and tried > gain_db)
    assert least_short_db - gain_db <= STEP_DB + 1e-9


def test_an_exact_encoder_is_run_twice() -> None:
    requested: list[float] = []

    def peak_at(gain_db: float) -> float:
        requested.append(gain_db)
        return 1.234 + gain_db

    assert least_trim(peak_at, 1.234) == (-1.24, pytest.approx(-0.006))
    assert requested == [-1.24, -1.19]


def test_a_first_step_that_overshoots_is_taken_back() -> None:
    """0.93 dB lower the peak falls by 2 dB, as lossy coders sometimes do: half of it was enough."""
    found = least_trim(lambda gain_db: 0.93 + gain_db if gain_db > -0.5 else -1.0, 0.93)
    assert found
    assert -0.55 <= found[0] <= -0.5


def test_a_peak_that_does_not_follow_is_given_up() -> None:
    requested: list[float] = []

    def peak_at(gain_db: float) -> float:
        requested.append(gain_db)
        return 1.0

    assert least_trim(peak_at, 1.0) is None
    assert len(requested) == MOST_STEPS
    assert least_trim(peak_at, -0.3) == (0.0, -0.3)
