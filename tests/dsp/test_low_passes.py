"""Low-passes of the low-band meter against numpy's convolution, against formulas and against recursions."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.dsp.stereo.low_passes import BINOMIAL, LANES, NUMERATOR_HISTORY, low_passes, low_sums, numerator


def test_the_numerator_is_a_binomial_filter() -> None:
    """Judge: numpy's convolution."""
    x = np.random.default_rng(5).standard_normal(100).astype(np.float32)
    found = np.empty(100 - NUMERATOR_HISTORY)
    numerator(x, found)
    np.testing.assert_allclose(found, np.convolve(x.astype(np.float64), BINOMIAL, mode="valid"), atol=1e-5)


@pytest.mark.parametrize("rate_hz", [4_000, 5_512.5, 6_000, 24_000])
@pytest.mark.parametrize(("frequency_hz", "gain_db"), [(30, 0.0), (300, -3.0103), (600, None)])
def test_low_pass_is_a_butterworth(rate_hz: float, frequency_hz: float, gain_db: float | None) -> None:
    """Fourth order: 10 lg(1 + r^8) down, r the ratio of frequencies warped by the bilinear transform."""
    warped = np.tan(np.pi * frequency_hz / rate_hz) / np.tan(np.pi * 300 / rate_hz)
    expected = -10 * np.log10(1 + warped**8)
    assert gain_db is None or expected == pytest.approx(gain_db, abs=1e-3)
    n = np.arange(8 * round(rate_hz))
    tone = np.convolve(np.sin(2 * np.pi * frequency_hz / rate_hz * n), BINOMIAL)[: len(n)]
    sums = np.empty((8, 2, 4))
    ends = np.arange(1, 9) * round(rate_hz)
    low_sums(tone, -0.5 * tone, ends, low_passes((100, 300), rate_hz), sums)
    left, right, both, apart = sums[4, 1]
    assert 10 * np.log10(2 * left / rate_hz) == pytest.approx(expected, abs=0.02)
    assert (right, both, apart) == pytest.approx((left / 4, left / 4, 9 * left / 4))


@pytest.mark.parametrize("cut", [0, 1, 2, 3, 5, 118, 400])
def test_low_sums_do_not_depend_on_block_sizes(cut: int) -> None:
    """Four samples are taken at a time; what is left over at the end of a step or a block is taken one by one."""
    left, right = np.random.default_rng(2).standard_normal((2, 405))
    ends = np.array([118, 119, 300, 401])
    whole = np.empty((4, 3, 4))
    low_sums(left, right, ends, low_passes((100, 200, 300), 3_000), whole)
    passes, before = low_passes((100, 200, 300), 3_000), int((ends <= cut).sum())
    first, second = np.empty((before, 3, 4)), np.empty((4 - before, 3, 4))
    low_sums(left[:cut], right[:cut], ends[:before], passes, first)
    low_sums(left[cut:], right[cut:], ends[before:] - cut, passes, second)
    np.testing.assert_allclose(np.concatenate([first, second]), whole, rtol=1e-12)


def test_low_sums_are_of_a_recursion() -> None:
    """Judge: both halves written out sample by sample, from the coefficients."""
    left, right = np.random.default_rng(4).standard_normal((2, 203))
    passes = low_passes((150, 250), 2_756.25)
    coefficients = passes.reshape(-1, LANES)[:5].T[:2].copy()
    found = np.empty((1, 2, 4))
    low_sums(left, right, np.array([203]), passes, found)
    for lane, (gain, a1, a2, c1, c2) in enumerate(coefficients):
        behind = []
        for x in (left, right):
            u, s = np.zeros(205), np.zeros(205)
            for n in range(203):
                u[n] = x[n] - a1 * u[n - 1] - a2 * u[n - 2]
                s[n] = u[n] - c1 * s[n - 1] - c2 * s[n - 2]
            behind.append(gain * s)
        a, b = behind
        np.testing.assert_allclose(found[0, lane], [a @ a, b @ b, (a + b) @ (a + b), (a - b) @ (a - b)], rtol=1e-10)
