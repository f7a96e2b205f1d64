"""Decimation of the low-band meter against numpy's convolution and Fourier transform, and against recursions."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.dsp.stereo.lowpass_decimation import (
    BINOMIAL,
    LANES,
    NUMERATOR_HISTORY,
    THINNING,
    halvings,
    low_passes,
    low_sums,
    thin,
)
from delivery.dsp.stereo.lowpass_decimation import (
    lows as decimate_low_band,
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


def test_low_band_is_decimated_halved_and_filtered() -> None:
    """Judge: numpy's convolution; binomial and every second kept, as often as it takes, then binomial again."""
    histories = np.zeros((1, 3, NUMERATOR_HISTORY))
    x = noise(96_000, 0.1, channels=1)[:, 0]
    x = x[: len(x) // 32 * 32]
    expected = np.empty(len(x) // THINNING)
    thin(x, 0.0, expected)
    for _ in range(2):
        expected = np.convolve(np.concatenate([np.zeros(3), expected]), np.array(BINOMIAL) / 16, mode="valid")[::2]
    expected = np.convolve(expected, BINOMIAL)[: len(expected)]
    found, before = np.empty((1, len(x) // 32)), np.zeros(1)
    for at in range(0, len(x), 320):  # kept between blocks
        piece = np.ascontiguousarray(x[None, at : at + 320])
        block = np.empty((1, piece.shape[1] // 32))
        decimate_low_band(piece, before, histories, block)
        found[:, at // 32 : (at + 320) // 32] = block
    np.testing.assert_allclose(found[0], expected, atol=1e-12)


@pytest.mark.parametrize(
    ("rate_hz", "least_db"),
    [
        (32_000, 44.9),
        (44_100, 50),
        (48_000, 51),
        (64_000, 56),
        (88_200, 62),
        (96_000, 64),
        (192_000, 76),
        (384_000, 76),
    ],
)
def test_no_aliases_in_the_low_band(rate_hz: int, least_db: float) -> None:
    """Everything within 300 Hz of a multiple of the last rate is that far down; 300 Hz itself, by 1.2 dB at most.

    Judge: numpy's Fourier transform of the response to an impulse, from all its places between two kept samples.
    """
    halved = halvings(rate_hz)
    thinning = THINNING * 2**halved
    response = np.zeros(16 * thinning)
    for place in range(thinning):
        x, found = np.zeros((1, len(response))), np.empty((1, 16))
        x[0, thinning - 1 - place] = 1.0
        decimate_low_band(x, np.zeros(1), np.zeros((1, halved + 1, NUMERATOR_HISTORY)), found)
        response[place::thinning] = found[0]
    hz = np.arange(2**18 + 1) * rate_hz / 2**19
    folded_hz = np.abs(hz - np.round(hz * thinning / rate_hz) * rate_hz / thinning)
    low_only = folded_hz <= 300
    numerator = (2 * np.cos(np.pi * folded_hz[low_only] * thinning / rate_hz)) ** 4
    gain_db = 20 * np.log10(np.abs(np.fft.rfft(response, 2**19))[low_only] / numerator + 1e-12)
    assert np.abs(gain_db[hz[low_only] <= 300]).max() < 1.2
    assert gain_db[hz[low_only] > 300].max() < -least_db
