"""The filters under the sibilance meter, against their responses and numpy's convolution."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.dsp.events.sibilance import (
    LEAST_RATE_HZ,
    band,
    band_energies,
    half_band,
    half_bands,
    halve,
    halvings,
    mean,
    taps,
    thinned,
)
from delivery.dsp.loudness.k_weighting import step_ends

RATES_HZ = [32_000, 44_100, 48_000, 64_000, 88_200, 96_000, 192_000, 384_000]


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_rate_is_halved_as_far_as_both_bands_fit(rate_hz: int) -> None:
    thinned_hz = rate_hz / 2 ** halvings(rate_hz)
    assert LEAST_RATE_HZ <= thinned_hz < 2 * LEAST_RATE_HZ


@pytest.mark.parametrize("rate_hz", [44_100, 48_000, 64_000, 88_200, 96_000, 192_000, 384_000])
def test_half_band_passes_and_stops(rate_hz: int) -> None:
    """Flat to 0.15 dB up to 10 kHz, and 38 dB down from where sound would fold to below 10 kHz."""
    weights = half_band(rate_hz)
    hz = np.linspace(0, rate_hz / 2, 1000)
    distance = np.arange(1, taps(weights) // 2 + 1, 2)
    response = 0.5 + 2 * np.cos(2 * np.pi * np.outer(hz / rate_hz, distance)) @ weights.astype(float)
    gain_db = 20 * np.log10(np.maximum(np.abs(response), 1e-9))
    assert np.abs(gain_db[hz <= 10_000]).max() < 0.15
    assert gain_db[hz >= rate_hz / 2 - 10_000].max() < -38


@pytest.mark.parametrize("rate_hz", [48_000, 96_000])
def test_halving_is_a_convolution_and_every_second(rate_hz: int) -> None:
    """Judge: numpy's convolution with the filter written out."""
    x = np.random.default_rng(3).standard_normal(5_000).astype(np.float32)
    weights = half_band(rate_hz)
    filter_ = np.zeros(taps(weights))
    middle = len(filter_) // 2
    filter_[middle] = 0.5
    filter_[middle + 1 :: 2] = weights
    filter_[:middle] = filter_[:middle:-1]
    expected = np.convolve(x, filter_, mode="valid")[::2]
    found = np.empty((len(x) - len(filter_) + 1) // 2, np.float32)
    halve(x, weights, found)
    np.testing.assert_allclose(found, expected[: len(found)], atol=2e-6)


@pytest.mark.parametrize("rate_hz", [22_050, 24_000, 32_000, 44_099])
@pytest.mark.parametrize(("hz", "high_db", "middle_db"), [(7_000, 0, -60), (2_200, -60, 0), (200, -60, -25)])
def test_each_band_has_its_own_energy(rate_hz: int, hz: float, high_db: float, middle_db: float) -> None:
    """A tone of power one half leaves that in its own band, and little in the other."""
    bands = np.stack([band(5_000, 10_000, rate_hz), band(1_000, 4_000, rate_hz)])
    reach = bands.shape[1] - 1
    tone = np.sin(2 * np.pi * hz / rate_hz * np.arange(rate_hz + 2 * reach)).astype(np.float32)
    energies = np.zeros((10, 2))
    band_energies(tone, bands, step_ends(0, rate_hz, rate_hz, 10), np.zeros(2), energies)
    levels = 10 * np.log10(2 * energies.sum(axis=0) / rate_hz + 1e-12)
    for level, expected in zip(levels, (high_db, middle_db), strict=True):
        assert level == pytest.approx(0, abs=0.3) if expected == 0 else level < expected + 10


@pytest.mark.parametrize("channels", [1, 2, 5])
def test_mean_of_the_channels(channels: int) -> None:
    planar = np.random.default_rng(1).standard_normal((channels, 300))
    mixed = np.empty(300, np.float32)
    mean(planar, mixed)
    np.testing.assert_allclose(mixed, planar.mean(axis=0), rtol=1e-6, atol=1e-7)


@pytest.mark.parametrize("lengths", [[7000], [1, 2, 3, 0, 500, 6494], [47] * 148 + [44]])
def test_thinning_out_is_mean_and_halvings_whatever_the_cut(lengths: list[int]) -> None:
    """Judge: numpy's mean and convolutions with the filters written out, led by as many zeros as half of each."""
    sound = np.random.default_rng(8).standard_normal((3, 7000))
    filters = half_bands(96_000)
    spans = np.array([14, 46])
    waiting, counts = np.zeros((3, 64), np.float32), np.array([7, 23, 0])
    found = []
    for at, length in zip(np.cumsum([0, *lengths]), lengths, strict=False):
        found.append(thinned(np.ascontiguousarray(sound[:, at : at + length]), filters, spans, waiting, counts))
    expected = sound.mean(axis=0)
    for weights, span in zip(filters, spans, strict=True):
        response = np.zeros(span + 1 - span // 2)
        response[0], response[1::2] = 0.5, weights[weights != 0]
        response = np.concatenate([response[:0:-1], response])
        led = np.concatenate([np.zeros(span // 2), expected])
        expected = np.convolve(led, response, mode="valid")[::2][: (len(led) - span) // 2]
    np.testing.assert_allclose(np.concatenate(found), expected, atol=3e-6)
