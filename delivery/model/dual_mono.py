"""Loudness of mono as specs count it: as one channel, or as played by two equal loudspeakers. Pure."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from delivery.model.figure import Measurement, Reading

if TYPE_CHECKING:
    from delivery.model.spec import Spec

TWO_LOUDSPEAKERS_LU = 10 * math.log10(2)
"""One signal from two loudspeakers has twice the power (ITU-R BS.1770-5, Annex 1: powers of the channels are added)."""
LOUDNESS = ("integrated_lufs", "momentary_max_lufs", "short_term_max_lufs")
LOUDNESS_CURVES = ("short_term_curve_lufs",)
PEAK_LESS_LOUDNESS = ("plr_db", "psr_min_db", "psr_low_db")


def extra_lu(measurement: Measurement, *, dual_mono: bool) -> float:
    """Loudness added for a file under a spec with this ``dual_mono``: 3.01 LU for one channel, else 0."""
    return TWO_LOUDSPEAKERS_LU if dual_mono and measurement.value("channels") == 1 else 0.0


def dual_mono_figures(spec: Spec, measurement: Measurement) -> Measurement:
    """The figures as *spec* counts loudness; the same measurement if nothing changes."""
    more_lu = extra_lu(measurement, dual_mono=spec.dual_mono)
    if not more_lu:
        return measurement
    signed = {**dict.fromkeys(LOUDNESS, more_lu), **dict.fromkeys(PEAK_LESS_LOUDNESS, -more_lu)}
    value = measurement.value
    moved = {name: Reading(value(name) + lu) for name, lu in signed.items() if value(name) is not None}
    curves = {
        name: Reading(tuple(lufs + more_lu for lufs in value(name)))
        for name in LOUDNESS_CURVES
        if value(name) is not None
    }
    return measurement.with_readings(moved | curves)
