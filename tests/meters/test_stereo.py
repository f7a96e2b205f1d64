"""Two channels beside each other, against numpy's own correlation and against arithmetic."""

from __future__ import annotations

import numpy as np
import pytest

from delivery.meters.low_band import LowBand
from delivery.meters.stereo import Stereo
from tests.meters.memory import readings, why
from tests.signals import noise, sine

RATE_HZ = 44_100


@pytest.mark.parametrize("shared", [0.0, 0.3, 0.9, -0.5])
def test_correlation_against_numpy(shared: float) -> None:
    """numpy.corrcoef is the judge: noise has no mean, so that its coefficient is the same number."""
    sound = noise(RATE_HZ, 4, seed=3)
    sound[:, 1] = shared * sound[:, 0] + (1 - abs(shared)) * sound[:, 1]
    found = readings(Stereo, sound, RATE_HZ)
    assert found["correlation"] == pytest.approx(np.corrcoef(sound.T)[0, 1], abs=1e-4)


@pytest.mark.parametrize(
    ("right", "correlation", "loss_db", "identical", "inverted"),
    [(1.0, 1.0, 0.0, True, False), (-1.0, -1.0, 120.0, False, True), (0.5, 1.0, 0.4576, False, False)],
)
def test_related_channels(right: float, correlation: float, loss_db: float, identical: bool, inverted: bool) -> None:
    """Mono loss is -10 lg(sum (L + R)^2 / 2 sum (L^2 + R^2)): 0.4576 dB for a channel at half the other's height."""
    found = readings(Stereo, noise(RATE_HZ, 4, channels=1) * [1.0, right], RATE_HZ)
    assert found["correlation"] == pytest.approx(correlation)
    assert found["correlation_min"] == pytest.approx(correlation)
    assert found["mono_loss_db"] == pytest.approx(loss_db, abs=1e-3)
    assert (found["identical_channels"], found["inverted_channels"]) == (identical, inverted)
    assert found["balance_db"] == pytest.approx(-20 * np.log10(abs(right)), abs=1e-9)


def test_unrelated_channels_lose_three_decibels() -> None:
    found = readings(Stereo, noise(RATE_HZ, 20), RATE_HZ)
    assert found["mono_loss_db"] == pytest.approx(3.01, abs=0.05)
    assert found["dead_channels"] == ()


def test_inversion_is_found_after_dither() -> None:
    """Each channel was dithered by itself: the mirror is not exact, and is one all the same."""
    sound = noise(RATE_HZ, 4, channels=1) * [1.0, -1.0] + noise(RATE_HZ, 4, level_dbfs=-95, seed=2)
    assert readings(Stereo, sound, RATE_HZ)["inverted_channels"] is True


def test_one_differing_sample_is_not_identical() -> None:
    sound = noise(RATE_HZ, 1, channels=1) * [1.0, 1.0]
    sound[777, 0] += 2.0**-23
    assert readings(Stereo, sound, RATE_HZ)["identical_channels"] is False


def test_lowest_correlation_is_over_three_seconds() -> None:
    sound = noise(RATE_HZ, 12, channels=1) * [1.0, 1.0]
    sound[3 * RATE_HZ : 6 * RATE_HZ, 1] *= -1
    sound[-4 * RATE_HZ :] = noise(RATE_HZ, 4, level_dbfs=-80) * [1.0, -1.0]  # too quiet to be asked
    assert readings(Stereo, sound, RATE_HZ)["correlation_min"] == pytest.approx(-1.0)


@pytest.mark.parametrize(("level_dbfs", "dead"), [(-85, (2,)), (-75, ())])
def test_dead_channel(level_dbfs: float, dead: tuple[int, ...]) -> None:
    sound = sine(1000, RATE_HZ, 2) * [0.5, 10 ** (level_dbfs / 20)]
    assert readings(Stereo, sound, RATE_HZ)["dead_channels"] == dead


@pytest.mark.parametrize("channels", [1, 3, 6])
def test_only_pairs_are_compared(channels: int) -> None:
    sound = noise(RATE_HZ, 4, channels=channels)
    assert why(Stereo, sound, RATE_HZ)["correlation"] == "only for two channels"
    assert why(LowBand, sound, RATE_HZ)["low_band_correlation_min"] == "only for two channels"


@pytest.mark.parametrize("rate_hz", [32_000, 44_100, 48_000, 96_000, 192_000])
@pytest.mark.parametrize(("low_hz", "expected"), [(60, -1.0), (250, -1.0), (1_500, 1.0), (5_400, 1.0)])
def test_low_band_meter_ignores_higher_frequencies(rate_hz: int, low_hz: float, expected: float) -> None:
    """A steady in-phase tone at 40 Hz and a stronger inverted one; it decides inside the band, and not outside.

    5 400 Hz lies beside the decimated rate at 44.1 and 48 kHz: it would fold to about 100 Hz if it were let in.
    """
    sound = sine(40, rate_hz, 5, level_dbfs=-26) * [1.0, 1.0] + sine(low_hz, rate_hz, 5, level_dbfs=-6) * [1.0, -1.0]
    found = readings(LowBand, sound, rate_hz)["low_band_correlation_min"]
    assert found == pytest.approx(expected, abs=0.05)


def test_correlation_of_each_second() -> None:
    """One value for each whole second; what is quieter than -60 dBFS rms reads 0."""
    sound = noise(RATE_HZ, 4.5, channels=1) * [1.0, 1.0]
    sound[RATE_HZ : 2 * RATE_HZ, 1] *= -1
    sound[2 * RATE_HZ : 3 * RATE_HZ] *= 1e-3
    sound[3 * RATE_HZ : 4 * RATE_HZ, 1] = noise(RATE_HZ, 1, seed=8)[:, 0]
    curve = readings(Stereo, sound, RATE_HZ)["correlation_curve"]
    expected = np.corrcoef(sound[3 * RATE_HZ : 4 * RATE_HZ].T)[0, 1]
    assert curve == pytest.approx((1.0, -1.0, 0.0, expected), abs=1e-3)
