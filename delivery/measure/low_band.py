"""Lows out of phase: what lifts the cutting stylus out of the lacquer."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.dsp.pairs import SUMS, THINNING, LowestCorrelation, filtered, low_pass, pair_sums, thin
from delivery.measure.meter import NO_SOUND, NOT_STEREO, Array, all_missing, planar
from delivery.model.figure import Figure, Reading

BAND_HZ = 300
BANDS_HZ = (100, 150, 200, 250, BAND_HZ)
"""Cutting rooms name frequencies between 100 and 300 Hz."""
LEAST_RATE_HZ = 32_000
"""Below this rate the band would fold; such files are refused an answer."""
LOW_RATE = "only from 32 kHz on"
STEPS_PER_S = 10
WINDOW_STEPS = 30
PRACTICE = "common practice at cutting rooms, no standard"
QUIET_POWER = 10 ** (-60 / 10)


class LowBand:
    """Correlation of left and right below 300 Hz and below lower frequencies, on a thinned-out copy of the sound."""

    gives = (
        Figure(
            "low_band_correlation_min",
            "",
            2,
            "Lowest correlation below 300 Hz over 3 s, in windows above -60 dBFS rms in that band.",
            PRACTICE,
        ),
        Figure("low_band_hz", "Hz", None, "Frequencies below which the lows are looked at.", PRACTICE),
        Figure(
            "low_band_correlations_min",
            "",
            None,
            "Lowest correlation over 3 s below each of them; 1 where there are no lows to speak of.",
            PRACTICE,
        ),
        Figure("low_band_at_s", "s", None, "Where each of these stretches begins.", PRACTICE),
    )

    def __init__(self, sound: SoundFacts) -> None:
        self._why_not = NOT_STEREO if sound.channels != 2 else "" if sound.rate_hz >= LEAST_RATE_HZ else LOW_RATE
        rate_hz = sound.rate_hz / THINNING
        self._halves = [low_pass(band_hz, rate_hz) for band_hz in BANDS_HZ]
        self._step = round(rate_hz / STEPS_PER_S)
        self._waiting = np.zeros((sound.channels, 0))
        self._before = [0.0, 0.0]
        self._filter_states = np.zeros((len(BANDS_HZ), 2, 6))
        self._open = np.zeros((len(BANDS_HZ), SUMS))
        self._lowest = [LowestCorrelation(WINDOW_STEPS, self._step, QUIET_POWER) for _ in BANDS_HZ]
        self._count = self._frames = 0

    def update(self, block: Array) -> None:
        self._frames += len(block)
        if not self._why_not:
            waiting = planar(block)
            if self._waiting.shape[1]:
                waiting = np.concatenate([self._waiting, waiting], axis=1)
            whole = waiting.shape[1] // THINNING * THINNING
            left, right = (self._thinned(channel, samples[:whole]) for channel, samples in enumerate(waiting))
            self._waiting = waiting[:, whole:].copy()
            ends = np.arange(self._step - self._count % self._step, len(left) + 1, self._step)
            for band in range(len(BANDS_HZ)):
                self._add(band, left.copy(), right.copy(), ends)
            self._count += len(left)

    def _add(self, band: int, left: Array, right: Array, ends: NDArray[np.int64]) -> None:
        filtered(left, right, self._halves[band], self._filter_states[band])
        sums = np.empty((len(ends), SUMS))
        pair_sums(left, right, ends, self._open[band], sums)
        self._lowest[band].append(sums)

    def _thinned(self, channel: int, samples: Array) -> Array:
        thinned = np.empty(len(samples) // THINNING)
        self._before[channel] = thin(samples, self._before[channel], thinned)
        return thinned

    def result(self) -> tuple[Reading, ...]:
        if not self._frames or self._why_not:
            return all_missing(self.gives, self._why_not or NO_SOUND)
        if not self._lowest[-1].windows:
            return all_missing(self.gives, "too short: under 3 s")
        found = [lowest.result() for lowest in self._lowest]
        lowest = tuple(1.0 if each is None else each[0] for each in found)
        at_s = tuple(0.0 if each is None else each[1] / STEPS_PER_S for each in found)
        widest = Reading.missing("no lows to speak of") if found[-1] is None else Reading(found[-1][0])
        return widest, Reading(BANDS_HZ), Reading(lowest), Reading(at_s)
