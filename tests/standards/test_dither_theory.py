"""What the dither theory says about error, compared with the samples that come out.

Lipshitz, Wannamaker, Vanderkooy, "Quantization and Dither: A Theoretical Survey", JAES 40 (1992): with triangular noise
of two steps the total error has mean 0 and power 1/4 step squared for every input; with rectangular noise of one step
the power swings with the input's place between two steps. Totals in dB are computed from these.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.dsp.writing.dither import CURVES, Curve, Requantiser
from tests.signals import sine

OFFSETS = np.arange(10) / 10
"""Constant inputs, in steps: one channel each."""


def errors(x: NDArray[np.float64], dither: str, bits: int = 16, rate_hz: int = 44_100) -> NDArray[np.float64]:
    """Words out minus sound in, in steps of its bit depth."""
    steps = 2.0 ** (bits - 1)
    out = Requantiser(bits, dither, rate_hz, x.shape[1], "theory").update(x) >> (32 - bits)
    return out - x * steps


def held(frames: int = 1_000_000) -> NDArray[np.float64]:
    return np.tile((100 + OFFSETS) / 32_768, (frames, 1))


def test_triangular_noise_leaves_no_mean_and_a_constant_power() -> None:
    found = errors(held(), "tpdf")
    assert np.abs(found.mean(axis=0)).max() < 4 * 0.5 / np.sqrt(len(found))  # four standard errors
    assert found.var(axis=0) == pytest.approx(np.full(10, 0.25), abs=0.001)


@pytest.mark.parametrize("level_dbfs", [-100, -90, -60, -20, -1])
@pytest.mark.parametrize("frequency_hz", [50.0, 997.0, 15_000.0])
def test_triangular_noise_does_the_same_under_tones(level_dbfs: float, frequency_hz: float) -> None:
    """Error mean and error power over the phase of the tone: 16 parts of its period, each as good as the whole."""
    tone = sine(frequency_hz, 44_100, 20, level_dbfs=level_dbfs)
    found = errors(tone, "tpdf")[:, 0]
    part = (np.arange(len(found)) * frequency_hz / 44_100 % 1 * 16).astype(int)
    count = np.bincount(part, minlength=16)
    mean = np.bincount(part, found, 16) / count
    power = np.bincount(part, found**2, 16) / count
    # standard errors: 0.5 / sqrt(n); of the power, 3/16 for the fourth moment of this error at most: 0.35 / sqrt(n)
    assert (np.abs(mean) < 4.5 * 0.5 / np.sqrt(count)).all()
    assert (np.abs(power - 0.25) < 4.5 * 0.35 / np.sqrt(count)).all()


def test_rectangular_noise_leaves_no_mean_but_its_power_swings() -> None:
    found = errors(held(), "rpdf")
    assert np.abs(found.mean(axis=0)).max() < 4 * 0.5 / np.sqrt(len(found))
    assert found.var(axis=0) == pytest.approx(OFFSETS * (1 - OFFSETS), abs=0.001)


def test_no_noise_leaves_the_input_in_the_error() -> None:
    found = errors(held(1000), "none")
    assert found[0] == pytest.approx(np.rint(OFFSETS) - OFFSETS, abs=1e-9)
    assert found.var(axis=0).max() < 1e-20


@pytest.mark.parametrize(
    ("bits", "dither", "total_db"),
    [(16, "none", -98.09), (16, "rpdf", -95.08), (16, "tpdf", -93.32), (20, "tpdf", -117.40), (24, "tpdf", -141.48)],
)
def test_total_noise_re_a_full_scale_sine(bits: int, dither: str, total_db: float) -> None:
    """1/12, 1/6 and 1/4 step squared against the power of a full-scale sine (the convention of AES17)."""
    tone = sine(440 * np.sqrt(5), 44_100, 10, level_dbfs=-10)  # never twice at one phase
    found_db = 10 * np.log10(errors(tone, dither, bits).var() / (2.0 ** (bits - 1)) ** 2 / 0.5)
    assert found_db == pytest.approx(total_db, abs=0.05)  # 441 000 samples: four standard errors are 0.03 dB


def lines(x: NDArray[np.float64], dither: str) -> NDArray[np.float64]:
    """Amplitude in steps at every multiple of 1/20 Hz; tones of whole hertz fall on a line exactly."""
    out = Requantiser(16, dither, 48_000, 1, "theory").update(x)[:, 0] >> 16
    return 2 * np.abs(np.fft.rfft(out)) / len(out)


def test_a_tone_below_the_last_bit_is_kept_without_harmonics() -> None:
    """1 kHz at -100 dBFS in 16 bits: a third of a step, where rounding alone leaves nothing at all."""
    tone = sine(1000, 48_000, 20, level_dbfs=-100)
    amplitude, harmonics = lines(tone, "tpdf")[20_000], lines(tone, "tpdf")[40_000::20_000]
    assert 20 * np.log10(amplitude / 32_768) == pytest.approx(-100, abs=0.1)
    mean_noise_power = 4 * 0.25 / len(tone)
    assert (harmonics[:22] ** 2).max() < 12 * mean_noise_power  # chance of one of 22 lines higher: 1 in 7000
    assert lines(tone, "none").max() == 0


def test_that_search_for_harmonics_can_find_some() -> None:
    """The same at -90 dBFS without noise: one step high, hard-edged."""
    assert lines(sine(1000, 48_000, 20, level_dbfs=-90), "none")[60_000] > 0.05  # noise lines: 0.001


def ntf(curve: Curve, points: int) -> NDArray[np.float64]:
    """|1 - sum c_k z^-k| squared from 0 to half the rate."""
    return np.abs(np.fft.rfft([1.0, *(-tap for tap in curve.taps)], 2 * points)) ** 2


def spectrum(x: NDArray[np.float64], points: int) -> NDArray[np.float64]:
    """Averaged power spectrum (Hann, half overlapped), scaled so that white noise reads its power."""
    window = np.hanning(2 * points + 1)[:-1]
    cuts = np.lib.stride_tricks.sliding_window_view(x, 2 * points)[::points]
    return np.mean(np.abs(np.fft.rfft(cuts * window)) ** 2, axis=0) / np.sum(window**2)


@pytest.mark.parametrize("curve", CURVES, ids=lambda curve: curve.name)
def test_shaped_noise_follows_its_curve(curve: Curve) -> None:
    """Spectrum of the error = 1/4 step squared times the filter, within the accuracy of 4000 averages (0.1 dB rms)."""
    found = errors(np.full((2_100_000, 1), 100.3 / 32_768), curve.name)[:, 0]
    ratio_db = 10 * np.log10(spectrum(found, 512) / (0.25 * ntf(curve, 512)))[2:-1]
    assert np.abs(ratio_db).max() < 0.6
    assert abs(ratio_db.mean()) < 0.05


@pytest.mark.parametrize("curve", CURVES, ids=lambda curve: curve.name)
def test_what_is_won_in_one_place_is_paid_in_another(curve: Curve) -> None:
    """Gerzon and Craven, "Optimal Noise Shaping and Dither of Digital Signals", AES 87th (1989): the mean of the
    curve in dB is 0, no better and, for a minimum-phase filter, no worse. Held for the filter and for the samples.
    """
    roots = np.roots([1.0, *(-tap for tap in curve.taps)])
    assert np.abs(roots).max() < 1
    assert np.mean(10 * np.log10(ntf(curve, 2**15))) == pytest.approx(0, abs=0.01)
    found = errors(np.full((2_100_000, 1), 100.3 / 32_768), curve.name)[:, 0]
    assert np.mean(10 * np.log10(spectrum(found, 512) / 0.25)[1:-1]) == pytest.approx(0, abs=0.1)


PUBLISHED = {
    "modified-e-2": (6.09, -21.1, 3.98, 10.6),
    "modified-e-3": (6.86, -20.0, 4.06, 11.7),
    "modified-e-9": (7.56, -21.4, 3.45, 13.9),
    "improved-e-5": (12.19, -27.2, 4.04, 19.4),
    "improved-e-9": (23.10, -29.2, 3.32, 31.8),
    "f-weighted-3": (6.64, -19.3, 3.9, 11.4),
    "f-weighted-9": (18.40, -25.2, 3.15, 27.0),
}
"""Noise power against flat dither, deepest point (dB, kHz), highest point (dB) at 44.1 kHz, from the published
coefficients, computed apart from this program."""


@pytest.mark.parametrize("curve", CURVES, ids=lambda curve: curve.name)
def test_coefficients_are_the_published_ones(curve: Curve) -> None:
    power_db, deepest_db, deepest_khz, highest_db = PUBLISHED[curve.name]
    response_db = 10 * np.log10(ntf(curve, 2**15))
    assert 10 * np.log10(1 + sum(tap**2 for tap in curve.taps)) == pytest.approx(power_db, abs=0.006)
    assert response_db.min() == pytest.approx(deepest_db, abs=0.06)
    assert response_db.argmin() * 22.05 / 2**15 == pytest.approx(deepest_khz, abs=0.06)
    assert response_db.max() == pytest.approx(highest_db, abs=0.06)


@pytest.mark.parametrize("curve", CURVES, ids=lambda curve: curve.name)
def test_shaped_noise_has_its_published_power(curve: Curve) -> None:
    found = errors(np.full((1_000_000, 1), 100.3 / 32_768), curve.name)[:, 0]
    assert 10 * np.log10(found.var() / 0.25) == pytest.approx(PUBLISHED[curve.name][0], abs=0.05)


@pytest.mark.parametrize("curve", CURVES, ids=lambda curve: curve.name)
def test_shaped_noise_does_not_breathe_with_the_music(curve: Curve) -> None:
    """Triangular noise inside the loop keeps the power constant over the input's place between two steps."""
    found = errors(held(200_000), curve.name).var(axis=0)
    assert found == pytest.approx(np.full(10, found.mean()), rel=0.02)
