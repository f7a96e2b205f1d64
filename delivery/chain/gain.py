"""The gain a spec orders for one master, and the headroom of its peaks. Pure."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from delivery.chain.target import MasterFacts, target_of
from delivery.formats import containers as known_containers
from delivery.formats.capability import peak_ceiling
from delivery.model.dual_mono import extra_lu
from delivery.model.figure import Measurement
from delivery.model.spec import Spec

GAIN_SLACK_DB = 0.005
"""Loudness and peaks are printed to 0.01; a trim lands half of that inside the ceiling."""


def gain_wanted_db(spec: Spec, measurement: Measurement) -> float:
    """Gain this master alone would get under *spec*, in dB; 0.0 if none is required, needed or measurable."""
    if spec.conversions.gain == "to_target":
        return _to_target_db(spec, measurement)
    if spec.conversions.gain == "down_to_ceiling":
        return min(0.0, headroom_db(spec, measurement), form_headroom_db(spec, measurement))
    return 0.0


def form_headroom_db(spec: Spec, master: Measurement) -> float:
    """Headroom of the master's samples to the largest value of the planned file, in dB; infinite if it has no limit.

    Integers hold no more than full scale, and the AAC encoder in use attenuates samples above its own limit.
    """
    facts, peak_dbfs = MasterFacts.of(master), master.value("sample_peak_dbfs")
    if not facts.lossless or peak_dbfs is None:
        return math.inf
    target = target_of(spec, facts, known_containers())
    ceiling = peak_ceiling(target if target.bits or target.coding != "pcm" else replace(target, bits=24))
    if ceiling is None:
        return math.inf
    if peak_dbfs <= 20 * math.log10(ceiling.magnitude):
        return max(0.0, 20 * math.log10(min(ceiling.magnitude, 1.0)) - float(peak_dbfs))
    return 20 * math.log10(min(ceiling.magnitude, 1.0)) - float(peak_dbfs) - GAIN_SLACK_DB


def headroom_db(spec: Spec, measurement: Measurement) -> float:
    """Headroom of the peaks to the spec's ceilings, in dB; negative if one is exceeded, 0.0 if unknown."""
    ceilings = (("true_peak_max_dbtp", "true_peak_dbtp"), ("sample_peak_max_dbfs", "sample_peak_dbfs"))
    headrooms = [
        spec.limit(key)
        - measurement.value(figure)
        - (GAIN_SLACK_DB if spec.limit(key) < measurement.value(figure) else 0)
        for key, figure in ceilings
        if spec.limit(key) is not None and measurement.value(figure) is not None
    ]
    return min(headrooms, default=0.0)


def _to_target_db(spec: Spec, measurement: Measurement) -> float:
    window, loudness = spec.limit("integrated_lufs"), measurement.value("integrated_lufs")
    if not window or loudness is None:
        return 0.0
    return to_target_db(window, loudness + extra_lu(measurement, dual_mono=spec.dual_mono))


def to_target_db(window: Mapping[str, float], loudness: float) -> float:
    """Gain to the target; 0 if the loudness is already within the window: the fewest steps take priority over hitting
    the centre."""
    if window.get("at_least", float("-inf")) <= loudness <= window.get("at_most", float("inf")):
        return 0.0
    return float(window.get("target", loudness) - loudness)
