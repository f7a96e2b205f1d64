"""The numbers under the stereo meters, against numpy's own convolution."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.dsp.pairs import (
    BINOMIAL,
    LOW_STATE,
    THINNING,
    LowestCorrelation,
    every_second,
    low_pass,
    low_sums,
    smoother,
    thin,
)
from tests.signals import noise


def test_thinning_is_a_triangle_then_every_eighth() -> None:
    """Judge: numpy's convolution with the triangle written out."""
    x = noise(48_000, 0.1, channels=1)[:, 0]
    x = x[: len(x) // THINNING * THINNING]
    rise = (np.arange(THINNING) + 0.5) / THINNING
    triangle = np.concatenate([rise, rise[::-1]]) / THINNING
    expected = np.convolve(np.concatenate([np.zeros(THINNING), x]), triangle, mode="valid")[::THINNING]
    found = np.empty(len(x) // THINNING)
    thin(x, 0.0, found)
    np.testing.assert_allclose(found, expected, atol=1e-15)


@pytest.mark.parametrize("rate_hz", [4_000, 5_512.5, 6_000, 24_000])
@pytest.mark.parametrize(("frequency_hz", "gain_db"), [(30, 0.0), (300, -3.0103), (600, None)])
def test_low_pass_is_a_butterworth(rate_hz: float, frequency_hz: float, gain_db: float | None) -> None:
    """Fourth order: 10 lg(1 + r^8) down, r the ratio of frequencies warped by the bilinear transform."""
    warped = np.tan(np.pi * frequency_hz / rate_hz) / np.tan(np.pi * 300 / rate_hz)
    expected = -10 * np.log10(1 + warped**8)
    assert gain_db is None or expected == pytest.approx(gain_db, abs=1e-3)
    n = np.arange(8 * round(rate_hz))
    tone = np.convolve(np.sin(2 * np.pi * frequency_hz / rate_hz * n), BINOMIAL)[: len(n)]
    sums = np.empty((8, 4))
    ends = np.arange(1, 9) * round(rate_hz)
    low_sums(tone, -0.5 * tone, low_pass(300, rate_hz), ends, np.zeros(LOW_STATE), sums)
    left, right, both, apart = sums[4]
    assert 10 * np.log10(2 * left / rate_hz) == pytest.approx(expected, abs=0.02)
    assert (right, both, apart) == pytest.approx((left / 4, left / 4, 9 * left / 4))


def test_every_second_of_a_smoothed_copy() -> None:
    """Judge: numpy's convolution; binomial, every second kept, then binomial again."""
    x = np.random.default_rng(5).standard_normal(1011)
    once = np.convolve(x, np.array(BINOMIAL) / 16, mode="valid")[::2]
    expected = np.convolve(once, BINOMIAL, mode="valid")
    found = np.empty(len(expected))
    every_second(x, smoother(), found)
    np.testing.assert_allclose(found, expected, atol=1e-12)


@pytest.mark.parametrize("piece", [1, 3, 1000, 5000])
@pytest.mark.parametrize("place", [0, 995, 1010, 1023, 1024, 2970])
def test_lowest_correlation_is_found_wherever_it_is(piece: int, place: int) -> None:
    """Steps are looked at in batches; a window may lie across two of them. Judge: every window, one by one."""
    left, right = np.random.default_rng(place).standard_normal((2, 3000, 50))
    right[place : place + 30] -= 2 * left[place : place + 30]
    left[1500:1600] *= 1e-4  # too quiet to be asked, and the two would be perfectly opposed
    right[1500:1600] = -left[1500:1600]
    sums = np.stack([left**2, right**2, (left + right) ** 2, (left - right) ** 2]).sum(axis=-1).T
    lowest = LowestCorrelation(30, 50, 0.1)
    for at in range(0, 3000, piece):
        lowest.append(sums[at : at + piece])
    assert lowest.windows == 2971
    each = {}
    for at in range(2971):
        a, b = left[at : at + 30].ravel(), right[at : at + 30].ravel()
        if (a @ a + b @ b) / 3000 > 0.1:
            each[at] = (a @ b) / np.sqrt((a @ a) * (b @ b))
    expected = min(each, key=lambda at: each[at])
    assert lowest.result() == (pytest.approx(each[expected]), expected)
