"""Programme loudness, its maxima, its range and its course."""

from __future__ import annotations

import numpy as np

from delivery.audio.facts import SoundFacts
from delivery.dsp.blocks.series import Series
from delivery.dsp.loudness.gating import (
    ABSOLUTE_GATE_LUFS,
    FLOOR_LUFS,
    RANGE_GATE_LU,
    RELATIVE_GATE_LU,
    gated_loudness_lufs,
    loudness_lufs,
    loudness_range_lu,
)
from delivery.dsp.loudness.k_weighting import (
    STATE_SIZE,
    STEPS_PER_S,
    step_ends,
    weighted_energy,
    window_powers,
)
from delivery.dsp.loudness.k_weighting_design import k_coefficients, unfolded
from delivery.meters.adm import layout_weights
from delivery.meters.meter import SILENT, Array, all_missing, planar
from delivery.model.figure import Figure, Reading, Subject

BS1770 = "ITU-R BS.1770-5, Annex 1"
TECH3341 = "EBU Tech 3341 (2023)"
MOMENTARY_STEPS, SHORT_TERM_STEPS = 40, 300
GRID_STEPS = 10
"""Gating blocks and the range use a grid of 100 ms."""
CURVE_STEP_S = 1.0


class Loudness:
    """K-weighted power in steps of 10 ms; every window is a sum of steps.

    Gating blocks are 100 ms apart, as recommended. Maxima are searched every 10 ms: on the 100 ms grid
    a burst of 400 ms can read 0.45 LU low, and test signal 13 of Tech 3341 would fail.
    """

    subject = Subject.LOUDNESS
    method = (
        "K-weighting (its 48 kHz response at every rate); mean squares of rectangular windows, added up by "
        "channel_weights. "
        f"Integrated: blocks of 0.4 s every 0.1 s, gated above {ABSOLUTE_GATE_LUFS:.0f} LUFS, then above "
        f"{-RELATIVE_GATE_LU:.0f} LU below the mean power of those. Momentary 0.4 s and short-term 3 s: "
        "ungated, searched "
        "every 10 ms; a place is where the window begins, the first of equal ones. Range: short-term values "
        "every 0.1 s, "
        f"those of at least {ABSOLUTE_GATE_LUFS:.0f} LUFS, then at least {-RANGE_GATE_LU:.0f} LU below their "
        "mean power; "
        "95th less 10th percentile, of n sorted values number round((n - 1) p) from 0, halves up. With "
        "values every 1 s "
        "the range of a file under a minute moves by tenths of an LU with the first window, and a meter that looks "
        "every 0.1 s names a place up to 0.1 s away. The curve has a value each second, "
        "where its 3 s "
        "begin."
    )
    least_rate_hz = 8000
    """Below, the head shelf no longer fits under half the rate."""
    gives = (
        Figure(
            "integrated_lufs",
            "LUFS",
            1,
            "Loudness of the whole file, gated. One channel counts as it is; of more than two, each counts by the "
            "loudspeaker that the file states: 1.41 from 60 to 120 degrees to the side at ear height, the LFE nothing.",
            BS1770,
        ),
        Figure("momentary_max_lufs", "LUFS", 1, "Loudest 400 ms, searched every 10 ms.", TECH3341),
        Figure("momentary_max_at_s", "s", 2, "Where the loudest 400 ms begin.", TECH3341),
        Figure("short_term_max_lufs", "LUFS", 1, "Loudest 3 s, searched every 10 ms.", TECH3341),
        Figure("short_term_max_at_s", "s", 2, "Where the loudest 3 s begin.", TECH3341),
        Figure(
            "loudness_range_lu",
            "LU",
            1,
            "Spread of short-term loudness, 10th to 95th percentile; of little use below one minute.",
            "EBU Tech 3342 (2023)",
        ),
        Figure(
            "short_term_curve_lufs",
            "LUFS",
            None,
            "Loudness of 3 s, from each step on; -120 is silence.",
            TECH3341,
            along="curve_step_s",
        ),
        Figure("curve_step_s", "s", 1, "Distance of the values of the short-term curve.", TECH3341),
        Figure(
            "channel_weights",
            "",
            None,
            "What each channel counts in loudness; 0 leaves it out.",
            f"{BS1770} and Annex 3",
        ),
        Figure(
            "gating_powers",
            "",
            None,
            "Weighted mean square of each 400 ms block, every 100 ms.",
            BS1770,
            Subject.MATERIAL,
        ),
    )

    def __init__(self, sound: SoundFacts) -> None:
        self._rate_hz = sound.rate_hz
        self._filters = unfolded(k_coefficients(sound.rate_hz))
        weights, self._unknown = layout_weights(sound)
        self._stated_weights = weights
        self._weights = np.array(weights or (0.0,) * sound.channels)
        self._state = np.zeros((sound.channels, STATE_SIZE))
        self._energies = Series()
        self._frames = 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        ends = step_ends(self._frames, len(block), self._rate_hz)
        energy = np.zeros(len(ends))
        weighted_energy(planar(block), ends, self._filters, self._weights, self._state, energy)
        self._energies.append(energy)
        self._frames += len(block)

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if self._unknown:
            return all_missing(self.gives, self._unknown)
        momentary, momentary_max = self._windows(MOMENTARY_STEPS)
        short_term, short_term_max = self._windows(SHORT_TERM_STEPS)
        return (
            _integrated(momentary),
            *_loudest(momentary, momentary_max, "too short: under 0.4 s"),
            *_loudest(short_term, short_term_max, "too short: under 3 s"),
            _range(short_term),
            *_curve(short_term[:: round(CURVE_STEP_S * STEPS_PER_S) // GRID_STEPS]),
            Reading(self._stated_weights),
            Reading(tuple(momentary.tolist())) if len(momentary) else Reading.missing("too short: under 0.4 s"),
        )

    def _windows(self, width: int) -> tuple[Array, tuple[float, int]]:
        """Mean squares of windows on the grid, and the highest one anywhere with its first step."""
        energy = self._energies.rows
        powers = np.zeros(max((len(energy) - width) // GRID_STEPS + 1, 0))
        return powers, window_powers(energy, self._rate_hz, width, GRID_STEPS, powers)


def _integrated(gating: Array) -> Reading:
    if not len(gating):
        return Reading.missing("too short: under 0.4 s")
    value = gated_loudness_lufs(gating)
    return Reading.missing("silent: nothing louder than -70 LUFS") if value is None else Reading(value)


def _loudest(powers: Array, highest: tuple[float, int], too_short: str) -> tuple[Reading, Reading]:
    if not len(powers):
        return Reading.missing(too_short), Reading.missing(too_short)
    power, at = highest
    value = float(loudness_lufs(np.array(power)))
    if value <= FLOOR_LUFS:
        return Reading.missing(SILENT), Reading.missing(SILENT)
    return Reading(value), Reading(at / STEPS_PER_S)


def _range(short_term: Array) -> Reading:
    if not len(short_term):
        return Reading.missing("too short: under 3 s")
    value = loudness_range_lu(short_term)
    return Reading.missing("silent: nothing louder than -70 LUFS") if value is None else Reading(value)


def _curve(short_term: Array) -> tuple[Reading, Reading]:
    if not len(short_term):
        return Reading.missing("too short: under 3 s"), Reading.missing("too short: under 3 s")
    return Reading(tuple(loudness_lufs(short_term).tolist())), Reading(CURVE_STEP_S)
