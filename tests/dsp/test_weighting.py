"""Weightings of noise against the tables of their documents."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.dsp.spectrum.weighting import a_weighting, itu_468_weighting, weighted_powers
from tests.signals import noise, sine

A_DB = {
    10: -70.4, 16: -56.7, 20: -50.5, 31.5: -39.4, 63: -26.2, 100: -19.1, 200: -10.9, 500: -3.2, 1000: 0.0, 2000: 1.2,
    4000: 1.0, 8000: -1.1, 10_000: -2.5, 16_000: -6.6, 20_000: -9.3,
}  # fmt: skip
"""IEC 61672-1:2013, Table 3, from memory: nominal frequencies, of which the exact ones are powers of ten."""
ITU_DB = {
    31.5: -29.9, 63: -23.9, 100: -19.8, 200: -13.8, 400: -7.8, 800: -1.9, 1000: 0.0, 2000: 5.6, 3150: 9.0, 4000: 10.5,
    5000: 11.7, 6300: 12.2, 7100: 12.0, 8000: 11.4, 9000: 10.1, 10_000: 8.1, 12_500: 0.0, 14_000: -5.3, 16_000: -11.7,
    20_000: -22.2, 31_500: -42.7,
}  # fmt: skip
"""ITU-R BS.468-4, Table 1, from memory."""


def db(factor: float) -> float:
    return 20 * float(np.log10(factor))


@pytest.mark.parametrize(("nominal_hz", "weight_db"), A_DB.items())
def test_a_weighting_is_that_of_the_standards_table(nominal_hz: float, weight_db: float) -> None:
    """The table is rounded to 0.1 dB."""
    exact_hz = 10 ** (round(10 * np.log10(nominal_hz)) / 10)
    assert db(a_weighting(np.array([exact_hz]))[0]) == pytest.approx(weight_db, abs=0.06)


@pytest.mark.parametrize(("frequency_hz", "weight_db"), ITU_DB.items())
def test_468_weighting_is_that_of_the_recommendations_table(frequency_hz: float, weight_db: float) -> None:
    """Its tolerance at 1 kHz is 0.2 dB; the table's own roundings are 0.1."""
    assert db(itu_468_weighting(np.array([frequency_hz]))[0]) == pytest.approx(weight_db, abs=0.12)


def test_nothing_is_left_of_an_offset() -> None:
    assert a_weighting(np.zeros(1))[0] == itu_468_weighting(np.zeros(1))[0] == 0


@pytest.mark.parametrize("rate_hz", [44_100, 48_000, 96_000])
@pytest.mark.parametrize("weighting", [a_weighting, itu_468_weighting])
def test_a_tone_of_1_khz_keeps_its_level(rate_hz: int, weighting: object) -> None:
    tone = sine(1000, rate_hz, 0.5, level_dbfs=-20) * [1.0, 1.0]
    (power,) = weighted_powers(tone.T, rate_hz, weighting)  # type: ignore[arg-type]
    assert 10 * np.log10(power) == pytest.approx(-23.01, abs=0.02)


def test_white_noise_by_each_weighting() -> None:
    """Closed form: the mean of the squared weights from 0 to half the rate."""
    sound = noise(48_000, 30, channels=1, level_dbfs=-60)
    for weighting in (a_weighting, itu_468_weighting):
        expected = -60 + 10 * np.log10(np.mean(weighting(np.linspace(0, 24_000, 100_001)) ** 2))
        (power,) = weighted_powers(sound.T, 48_000, weighting)
        assert 10 * np.log10(power) == pytest.approx(expected, abs=0.1)
