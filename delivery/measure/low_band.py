"""Lows out of phase: what lifts the cutting stylus out of the lacquer."""

from __future__ import annotations

import numpy as np

from delivery.audio.facts import SoundFacts
from delivery.dsp.kweighting import step_ends
from delivery.dsp.pairs import (
    LOW_STATE,
    SUMS,
    THINNING,
    LowestCorrelation,
    every_second,
    low_pass,
    low_sums,
    smoother,
    thin,
)
from delivery.measure.meter import NO_SOUND, NOT_STEREO, Array, all_missing, planar
from delivery.model.figure import Figure, Reading, Subject

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

    subject = Subject.STEREO
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
            along="low_band_hz",
        ),
        Figure("low_band_at_s", "s", None, "Where each of these stretches begins.", PRACTICE, along="low_band_hz"),
    )

    def __init__(self, sound: SoundFacts) -> None:
        self._why_not = NOT_STEREO if sound.channels != 2 else "" if sound.rate_hz >= LEAST_RATE_HZ else LOW_RATE
        self._rate_hz = sound.rate_hz
        self._smoother = smoother()
        self._low_passes = [low_pass(band_hz, sound.rate_hz / (2 * THINNING)) for band_hz in BANDS_HZ]
        self._waiting = np.zeros((sound.channels, 0))
        self._before = [0.0, 0.0]
        self._thinned = np.zeros((sound.channels, len(self._smoother) - 2))
        self._states = np.zeros((len(BANDS_HZ), LOW_STATE))
        step_frames = sound.rate_hz / (2 * THINNING * STEPS_PER_S)
        self._lowest = [LowestCorrelation(WINDOW_STEPS, step_frames, QUIET_POWER) for _ in BANDS_HZ]
        self._count = self._frames = 0

    def update(self, block: Array) -> None:
        self._frames += len(block)
        if not self._why_not:
            waiting = planar(block)
            if self._waiting.shape[1]:
                waiting = np.concatenate([self._waiting, waiting], axis=1)
            whole = waiting.shape[1] // (2 * THINNING) * 2 * THINNING
            left, right = (self._lows(channel, samples[:whole]) for channel, samples in enumerate(waiting))
            self._waiting = waiting[:, whole:].copy()
            ends = step_ends(self._count, len(left), self._rate_hz, 2 * THINNING * STEPS_PER_S)
            for low_pass, state, lowest in zip(self._low_passes, self._states, self._lowest, strict=True):
                sums = np.empty((len(ends), SUMS))
                low_sums(left, right, low_pass, ends, state, sums)
                lowest.append(sums)
            self._count += len(left)

    def _lows(self, channel: int, samples: Array) -> Array:
        """One channel, thinned out twice and smoothed."""
        history = self._thinned.shape[1]
        thinned = np.empty(history + len(samples) // THINNING)
        thinned[:history] = self._thinned[channel]
        self._before[channel] = thin(samples, self._before[channel], thinned[history:])
        self._thinned[channel] = thinned[-history:]
        lows = np.empty(len(samples) // (2 * THINNING))
        every_second(thinned, self._smoother, lows)
        return lows

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
