"""Correlation, balance and mono loss against what trigonometry says of two tones of one frequency.

Left sin(x), right g sin(x + phi): the mean of the product is g cos(phi) / 2, the powers are 1/2 and g²/2. No document
defines these figures; the identities follow from their sentences.
"""

from __future__ import annotations

import numpy as np
import pytest

from delivery.meters.stereo import Stereo
from tests.meters.memory import readings

PHASES_DEG = (0.0, 30.0, 60.0, 90.0, 120.0, 150.0, 179.0)
GAINS_DB = (0.0, -3.0, -12.0, 6.0)


@pytest.mark.parametrize("rate_hz", [44_100, 48_000, 96_000, 192_000])
@pytest.mark.parametrize("gain_db", GAINS_DB)
@pytest.mark.parametrize("phase_deg", PHASES_DEG)
def test_tones_a_phase_and_a_gain_apart(rate_hz: int, phase_deg: float, gain_db: float) -> None:
    """Correlation is cos(phi) at any gain; the mono sum loses 10 lg of (1 + g² + 2 g cos phi) over 2 (1 + g²)."""
    x = 2 * np.pi * 1000 / rate_hz * np.arange(round(3.5 * rate_hz))
    g, phi = 10 ** (gain_db / 20), np.deg2rad(phase_deg)
    found = readings(Stereo, 0.3 * np.stack([np.sin(x), g * np.sin(x + phi)], axis=1), rate_hz)
    assert found["correlation"] == pytest.approx(np.cos(phi), abs=1e-6)
    assert found["correlation_min"] == pytest.approx(np.cos(phi), abs=1e-3)
    assert found["balance_db"] == pytest.approx(-gain_db, abs=1e-6)
    kept = (1 + g * g + 2 * g * np.cos(phi)) / (2 * (1 + g * g))
    assert found["mono_loss_db"] == pytest.approx(-10 * np.log10(kept), abs=1e-4)


@pytest.mark.parametrize("rate_hz", [44_100, 96_000])
def test_same_opposite_and_apart(rate_hz: int) -> None:
    """The same twice: 1 and no loss. Opposite: -1 and nothing left. Unrelated: half the power, 3.01 dB."""
    x = np.sin(2 * np.pi * 500 / rate_hz * np.arange(4 * rate_hz))
    same, opposite = (readings(Stereo, 0.5 * np.stack([x, sign * x], axis=1), rate_hz) for sign in (1, -1))
    assert (same["correlation"], same["mono_loss_db"]) == pytest.approx((1, 0), abs=1e-9)
    assert same["identical_channels"]
    assert opposite["correlation"] == pytest.approx(-1, abs=1e-9)
    assert opposite["inverted_channels"]
    assert opposite["mono_loss_db"] > 90
    y = np.sin(2 * np.pi * 700 / rate_hz * np.arange(4 * rate_hz))
    apart = readings(Stereo, 0.5 * np.stack([x, y], axis=1), rate_hz)
    assert apart["mono_loss_db"] == pytest.approx(10 * np.log10(2), abs=1e-3)
