"""Loudness of mono, counted as one channel or as two equal loudspeakers play it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from delivery.model.dual_mono import TWO_LOUDSPEAKERS_LU, dual_mono_figures, extra_lu
from delivery.model.figure import Measurement, Reading
from tests.rules.case_files import spec_of

AS_IT_IS, TWO = spec_of(), replace(spec_of(), dual_mono=True)
MONO = Measurement(
    {
        name: Reading(value)
        for name, value in {
            "channels": 1,
            "integrated_lufs": -23.0,
            "momentary_max_lufs": -20.0,
            "short_term_max_lufs": -21.0,
            "short_term_curve_lufs": (-24.0, -21.0),
            "plr_db": 12.0,
            "psr_min_db": 9.0,
            "true_peak_dbtp": -11.0,
            "loudness_range_lu": 5.0,
        }.items()
    }
)


def test_twice_the_power_is_3_01_lu() -> None:
    """ITU-R BS.1770-5, Annex 1: a full-scale sine in one channel reads -3.01, in two 0.00."""
    assert pytest.approx(3.0103, abs=5e-5) == TWO_LOUDSPEAKERS_LU
    assert pytest.approx(2.0, rel=1e-12) == 10 ** (TWO_LOUDSPEAKERS_LU / 10)


@pytest.mark.parametrize("rate_hz", [44_100, 48_000])
def test_another_meter_agrees_on_the_doubled_sound(rate_hz: int) -> None:
    """pyloudnorm, whose mono is one channel and whose stereo adds both."""
    import pyloudnorm

    noise = 0.05 * np.random.default_rng(3).standard_normal((5 * rate_hz, 1))
    meter = pyloudnorm.Meter(rate_hz, filter_class="DeMan")
    apart = meter.integrated_loudness(np.repeat(noise, 2, axis=1)) - meter.integrated_loudness(noise)
    assert extra_lu(MONO, dual_mono=True) == pytest.approx(apart, abs=1e-9)


def test_only_mono_under_dual_mono_is_counted_twice() -> None:
    stereo = MONO.with_readings({"channels": Reading(2)})
    assert extra_lu(MONO, dual_mono=False) == extra_lu(stereo, dual_mono=True) == 0.0
    assert dual_mono_figures(AS_IT_IS, MONO) is MONO
    assert dual_mono_figures(TWO, stereo) is stereo


def test_every_figure_of_loudness_moves_and_no_other() -> None:
    """A peak stays where it is, so it is that much less above the loudness; a range is no level."""
    heard = dual_mono_figures(TWO, MONO)
    moved = {name: heard.value(name) for name in MONO.readings if heard.value(name) != MONO.value(name)}
    assert moved.pop("short_term_curve_lufs") == pytest.approx((-20.99, -17.99), abs=0.001)
    assert moved == pytest.approx(
        {"integrated_lufs": -19.99, "momentary_max_lufs": -16.99, "short_term_max_lufs": -17.99, "plr_db": 8.99,
         "psr_min_db": 5.99},
        abs=0.001,
    )  # fmt: skip
    assert heard.value("true_peak_dbtp") - heard.value("integrated_lufs") == pytest.approx(
        heard.value("plr_db") + (MONO.value("true_peak_dbtp") - MONO.value("integrated_lufs") - MONO.value("plr_db"))
    )


def test_what_was_not_measured_stays_so() -> None:
    silent = MONO.with_readings({"integrated_lufs": Reading.missing("silent")})
    assert dual_mono_figures(TWO, silent)["integrated_lufs"].why_missing == "silent"
    assert not math.isnan(dual_mono_figures(TWO, silent).value("momentary_max_lufs"))
