"""Figures beside the same definitions written with scipy at the full rate: low band, range, short-term place."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.signal
from numpy.typing import NDArray

from delivery.meters.loudness import Loudness
from delivery.meters.low_band import BANDS_HZ, LowBand
from tests.meters.memory import readings

Array = NDArray[np.float64]
RATES_HZ = (44_100, 48_000, 88_200, 96_000, 192_000)
SHELF = ([1.53512485958697, -2.69169618940638, 1.19839281085285], [1, -1.69065929318241, 0.73248077421585])
HIGH_PASS = ([1.0, -2.0, 1.0], [1, -1.99004745483398, 0.99007225036621])
"""ITU-R BS.1770-5, Annex 1, Tables 1 and 2, 48 kHz."""


def song(rate_hz: int, seconds: float, channels: int, seed: int) -> Array:
    """Noise that falls by 6 dB an octave, its low end apart in the channels for a while, louder and softer."""
    frames = round(rate_hz * seconds)
    spectrum = np.fft.rfft(np.random.default_rng(seed).standard_normal((3, frames)))
    spectrum /= np.maximum(np.fft.rfftfreq(frames, 1 / rate_hz), 30)
    middle, *own = np.fft.irfft(spectrum, frames)
    t = np.arange(frames) / rate_hz
    apart = 0.5 + 0.9 * np.sin(2 * np.pi * t / 7) ** 2
    level = 10 ** ((-6 + 6 * np.sin(2 * np.pi * t / 23) + 2 * np.sin(2 * np.pi * t / 3.7)) / 20)
    both = np.stack(
        [middle * (1.2 - 0.8 * apart * channel) + apart * own[channel] for channel in range(channels)], axis=1
    )
    return 0.4 * level[:, None] * both / np.abs(both).max()


@pytest.mark.thorough(2)
@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_low_band_correlation_is_that_of_a_butterworth(rate_hz: int) -> None:
    """Fourth order, 3 dB down at the frequency named; lowest correlation of 3 s, every 0.1 s: within 0.01."""
    sound = song(rate_hz, 15, 2, seed=1)
    found = readings(LowBand, sound, rate_hz)["low_band_correlations_min"]
    for band_hz, correlation in zip(BANDS_HZ, found, strict=True):
        sections = scipy.signal.butter(4, band_hz, fs=rate_hz, output="sos")
        left, right = scipy.signal.sosfilt(sections, sound, axis=0).T
        starts = range(0, len(sound) - 3 * rate_hz + 1, rate_hz // 10)
        pairs = ((left[at : at + 3 * rate_hz], right[at : at + 3 * rate_hz]) for at in starts)
        lowest = min(float(np.dot(a, b) / np.sqrt(np.dot(a, a) * np.dot(b, b))) for a, b in pairs)
        assert correlation == pytest.approx(lowest, abs=0.01), band_hz


@pytest.mark.parametrize("channels", [1, 2])
def test_range_and_short_term_place(channels: int) -> None:
    """44 s: the range by Tech 3342 on a grid of 0.1 s, the loudest 3 s at the 10 ms where they are, to the last digit.

    On a grid of 1 s, which Tech 3342 also permits, the range of so short a file moves by tenths with the first window.
    """
    rate_hz = 48_000
    sound = song(rate_hz, 44, channels, seed=2)
    weighted = scipy.signal.lfilter(*HIGH_PASS, scipy.signal.lfilter(*SHELF, sound, axis=0), axis=0)
    power = np.concatenate([[0.0], np.cumsum((weighted**2).sum(axis=1))])
    short_term = power[3 * rate_hz :: 480] - power[: -3 * rate_hz : 480]
    found = readings(Loudness, sound, rate_hz)
    assert found["short_term_max_at_s"] == pytest.approx(int(short_term.argmax()) / 100)
    grid = short_term[::10] / (3 * rate_hz)
    loud = np.sort(grid[grid >= max(10 ** ((-70 + 0.691) / 10), grid.mean() / 100)])
    low, high = (loud[int((len(loud) - 1) * share + 0.5)] for share in (0.10, 0.95))
    assert found["loudness_range_lu"] == pytest.approx(10 * np.log10(high / low), abs=1e-3)
