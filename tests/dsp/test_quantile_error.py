"""Standard error of a high quantile, against its distribution in closed form and against repeated draws."""

from __future__ import annotations

import math

import numpy as np
import pytest

from delivery.dsp.spectrum.quantile_error import level_error_db, place_of

SHARE = 0.99


def test_power_of_noise_in_closed_form() -> None:
    """Asymptotic variance of a quantile q of n values of density f: p (1 - p) / (n f(q)**2); for an exponential
    distribution f(q) = 1 - p, q = -ln(1 - p). Mean square over 200 bands, each estimated from 16 groups."""
    windows, bands = 4096, 200
    powers = np.random.default_rng(5).exponential(size=(windows, bands))
    errors = level_error_db(powers, SHARE, 600.0)
    assert errors is not None
    expected_db = 10 / math.log(10) * math.sqrt(SHARE / (1 - SHARE) / windows) / -math.log(1 - SHARE)
    assert np.sqrt(np.mean(errors**2)) == pytest.approx(expected_db, rel=0.15)


def test_levels_that_change_slowly_against_repeated_draws() -> None:
    """Bands whose level wanders within seconds, so that the loudest windows come together: the error over 100 bands
    is that of the level from draw to draw, within a third."""
    rng = np.random.default_rng(7)
    windows, step_s, bands = 1600, 0.15, 100
    keep = 0.8 ** (step_s / 0.3)
    wander, level_db = rng.standard_normal((windows, bands)), np.zeros((windows, bands))
    for i in range(1, windows):
        level_db[i] = keep * level_db[i - 1] + math.sqrt(1 - keep**2) * wander[i]
    powers = 10 ** (0.3 * level_db) * rng.gamma(8, 1 / 8, (windows, bands))
    errors = level_error_db(powers, SHARE, windows * step_s)
    assert errors is not None
    levels_db = 10 * np.log10(np.sort(powers, axis=0)[place_of(SHARE, windows)])
    assert np.sqrt(np.mean(errors**2)) == pytest.approx(levels_db.std(), rel=0.33)


def test_one_level_has_no_error_and_a_short_file_no_answer() -> None:
    errors = level_error_db(np.ones((100, 3)), SHARE, 20.0)
    assert errors is not None
    assert errors.tolist() == [0, 0, 0]
    assert level_error_db(np.ones((100, 3)), SHARE, 5.9) is None
    assert level_error_db(np.ones((7, 3)), SHARE, 20.0) is None
