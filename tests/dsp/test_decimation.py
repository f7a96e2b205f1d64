"""Decimation to a low rate against numpy's Fourier transform of its response to an impulse, and block by block."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.dsp.spectrum.decimation import LEAST_HZ, Decimator
from tests.signals import noise

RATES_HZ = [1_000, 3_000, 8_000, 32_000, 44_100, 64_000, 96_000, 384_000]


@pytest.mark.parametrize("rate_hz", RATES_HZ)
@pytest.mark.parametrize("most", [5, 300, 5_000])
def test_blocks_do_not_matter_and_no_frame_is_missing(rate_hz: int, most: int) -> None:
    chance, x = np.random.default_rng(1), np.ascontiguousarray(noise(rate_hz, 10_000 / rate_hz).T)
    whole, cut, pieces, at = Decimator(2, rate_hz), Decimator(2, rate_hz), [], 0
    found = whole.take(x)
    while at < x.shape[1]:
        end = at + int(chance.integers(0, most))
        pieces.append(cut.take(x[:, at:end].copy()))
        at = end
    np.testing.assert_array_equal(np.concatenate(pieces, axis=1), found)
    decimation = round(rate_hz / whole.rate_hz)
    assert found.shape == (2, 10_000 // decimation)
    assert decimation == 1 or whole.twice.shape == (2, 10_000 // (decimation // 2))
    assert min(LEAST_HZ, rate_hz) <= whole.rate_hz < 2 * LEAST_HZ


def gains(rate_hz: int, *, twice: bool) -> tuple[NDArray[np.float64], NDArray[np.float64], float]:
    """Power gain of the whole decimation at each frequency of the source, from impulses at each place of a frame."""
    rate = Decimator(1, rate_hz).rate_hz * (2 if twice else 1)
    decimation = round(rate_hz / rate)
    response = np.zeros(decimation * 64)
    for place in range(decimation):
        impulse = np.zeros((1, len(response)))
        impulse[0, decimation - 1 - place] = 1.0
        decimator = Decimator(1, rate_hz)
        found = decimator.take(impulse)
        response[place::decimation] = (decimator.twice if twice else found)[0]
    size = 2**19
    return np.arange(size // 2 + 1) * rate_hz / size, np.abs(np.fft.rfft(response, size)) ** 2, rate


@pytest.mark.parametrize("rate_hz", RATES_HZ[1:])
def test_response_is_what_is_computed(rate_hz: int) -> None:
    """Judge: the Fourier transform of an impulse."""
    hz, power, rate = gains(rate_hz, twice=False)
    used = hz <= 0.4 * rate
    np.testing.assert_allclose(Decimator(1, rate_hz).response(hz[used]), power[used], rtol=1e-5)
    assert power[hz <= 400].min() > 0.85  # little has to be made good


@pytest.mark.parametrize("twice", [False, True])
@pytest.mark.parametrize(
    ("rate_hz", "least_db"), [(32_000, 80), (44_100, 80), (48_000, 80), (88_200, 80), (384_000, 75)]
)
def test_no_aliases_below_400_hz(rate_hz: int, least_db: float, twice: bool) -> None:
    """Everything within 400 Hz of a multiple of the last rate is that far down; at twice it, within 300 Hz."""
    hz, power, rate = gains(rate_hz, twice=twice)
    top_hz = 300 if twice else 400
    folded_hz = np.abs(hz - np.round(hz / rate) * rate)
    alias = (folded_hz <= top_hz) & (hz > top_hz)
    assert 10 * np.log10(power[alias].max()) < -least_db
