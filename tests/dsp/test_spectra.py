"""What counts as an edge, on spectra drawn by hand."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from delivery.dsp.spectrum.coder_edge import coder_edge_hz
from delivery.dsp.spectrum.spectra import band_edge_hz, early_edge_hz, hann, upsampled_from_hz, window_frames

BAND_HZ = 93.75
HZ = np.arange(512) * BAND_HZ
"""Up to 48 kHz."""
FLOOR_DB = -150.0
DITHER_DB = -160.0


def wall(at_hz: float, below_db: float = -60.0) -> NDArray[np.float64]:
    return np.where(at_hz > HZ, below_db, FLOOR_DB)


def slope(db_per_khz: float, from_hz: float) -> NDArray[np.float64]:
    return np.maximum(-60 - np.maximum(HZ - from_hz, 0) / 1000 * db_per_khz, FLOOR_DB)


@pytest.mark.parametrize(("edge_hz", "rate_hz"), [(22_050, 44_100), (21_000, 44_100), (23_900, 48_000)])
def test_walls_at_half_rates(edge_hz: float, rate_hz: int) -> None:
    assert upsampled_from_hz(wall(edge_hz), BAND_HZ, DITHER_DB) == rate_hz


@pytest.mark.parametrize("edge_hz", [16_000, 18_000, 28_000, 32_000, 36_000, 43_500])
def test_walls_elsewhere_are_no_sign_of_a_rate(edge_hz: float) -> None:
    """Coding and taste cut there, or the converter of the very rate: 43.5 kHz is too near to 48 to be a sign."""
    assert upsampled_from_hz(wall(edge_hz), BAND_HZ, DITHER_DB) == 0


@pytest.mark.parametrize("db_per_khz", [0.5, 2, 8, 12])
@pytest.mark.parametrize("from_hz", [5_000, 10_000, 15_000])
def test_steady_slopes_are_no_walls(db_per_khz: float, from_hz: float) -> None:
    """Steep as they may be: a fall that was as steep before is nothing that happens at a half-rate."""
    assert upsampled_from_hz(slope(db_per_khz, from_hz), BAND_HZ, DITHER_DB) == 0


def test_a_wall_with_sound_above_is_no_wall() -> None:
    level = wall(22_050)
    level[HZ > 30_000] = -70
    assert upsampled_from_hz(level, BAND_HZ, DITHER_DB) == 0


def test_nothing_above_the_dither_gives_no_result() -> None:
    assert upsampled_from_hz(wall(12_000), BAND_HZ, FLOOR_DB) is None


@pytest.mark.parametrize("at_hz", [8_000, 16_000, 20_000, 40_000])
def test_band_edge_of_a_wall(at_hz: float) -> None:
    assert band_edge_hz(wall(at_hz), BAND_HZ) == pytest.approx(at_hz, abs=2 * BAND_HZ)


@pytest.mark.parametrize("level", [np.full(512, -60.0), slope(3, 5_000), wall(8_000, FLOOR_DB + 15)])
def test_no_edge_without_a_fall_of_20_decibels(level: NDArray[np.float64]) -> None:
    assert band_edge_hz(level, BAND_HZ) is None


def test_windows_grow_with_the_rate() -> None:
    assert [window_frames(rate) for rate in (44_100, 48_000, 88_200, 96_000, 192_000)] == [
        8192,
        8192,
        16384,
        16384,
        32768,
    ]
    assert np.mean(hann(8192) ** 2) == pytest.approx(1.0)


def test_sound_above_a_gap_is_no_sign_of_a_lower_rate() -> None:
    """Strong up to half the rate, but for a gap where the lowest half-rate's band would end: it was never cut there."""
    levels = np.where((HZ > 18_000) & (HZ < 20_000), DITHER_DB, -20.0)
    assert upsampled_from_hz(levels, BAND_HZ, DITHER_DB) == 0


@pytest.mark.parametrize(("edge_hz", "found"), [(14_500, False), (15_500, True), (19_500, True), (20_600, False)])
def test_early_edge(edge_hz: int, found: bool) -> None:
    levels_db = wall(edge_hz)
    reported = early_edge_hz(levels_db, BAND_HZ, DITHER_DB, band_edge_hz(levels_db, BAND_HZ))
    assert reported == (pytest.approx(edge_hz, abs=200) if found else 0.0)


def test_no_early_edge_for_a_lower_band_edge() -> None:
    assert early_edge_hz(wall(12_000), BAND_HZ, FLOOR_DB, 12_000.0) is None


def test_a_gentle_end_is_no_early_edge() -> None:
    """20 dB within a kilohertz, but falling so all the time."""
    levels_db = slope(22, 12_000)
    assert early_edge_hz(levels_db, BAND_HZ, DITHER_DB - 300, 15_500.0) == 0.0


def test_coder_edge_is_found_where_bins_end() -> None:
    """Noise whose transform is cut at 20 kHz, as a coder cuts it (MDCT of 960 bins, 25 Hz wide, RFC 6716)."""
    bin_hz = 44_100 / 8192
    hz = np.arange(4097) * bin_hz
    cut_off = np.where(hz < 20_000, 1e-9, 1e-12)
    assert coder_edge_hz(cut_off, bin_hz) == pytest.approx(20_000, abs=60)


@pytest.mark.parametrize("wide_hz", [1000, 2000])
def test_a_filter_is_no_coder_edge(wide_hz: float) -> None:
    """A rate converter falls by 60 dB over a kilohertz or more: 12 dB in 200 Hz are the most."""
    hz = np.arange(4097) * 44_100 / 8192
    levels_db = -90 - 45 * np.clip((hz - 17_000) / wide_hz, 0, 1)
    assert coder_edge_hz(10 ** (levels_db / 10), 44_100 / 8192) == 0.0


@pytest.mark.parametrize("rate_hz", [22_050, 32_000])
def test_low_rates_have_no_coder_edge(rate_hz: int) -> None:
    assert coder_edge_hz(np.ones(4097), rate_hz / 8192) == 0.0
