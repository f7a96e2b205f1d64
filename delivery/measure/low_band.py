"""Lows out of phase: what lifts the cutting stylus out of the lacquer."""

from __future__ import annotations

import numpy as np

from delivery.audio.facts import SoundFacts
from delivery.dsp.gating import sliding_sums
from delivery.dsp.pairs import LEFT, RIGHT, SUMS, THINNING, correlation, filtered, low_pass, pair_sums, thin
from delivery.measure.meter import NO_SOUND, NOT_STEREO, Array, planar
from delivery.model.figure import Figure, Reading

BAND_HZ = 300
LEAST_RATE_HZ = 32_000
"""Below this rate the band would fold; such files are refused an answer."""
LOW_RATE = "only from 32 kHz on"
STEPS_PER_S = 10
WINDOW_STEPS = 30
QUIET_POWER = 10 ** (-60 / 10)


class LowBand:
    """Correlation of left and right below 300 Hz, on a thinned-out copy of the sound."""

    gives = (
        Figure(
            "low_band_correlation_min",
            "",
            2,
            "Lowest correlation below 300 Hz over 3 s, in windows above -60 dBFS rms in that band.",
            "common practice at cutting rooms, no standard",
        ),
    )

    def __init__(self, sound: SoundFacts) -> None:
        self._why_not = NOT_STEREO if sound.channels != 2 else "" if sound.rate_hz >= LEAST_RATE_HZ else LOW_RATE
        rate_hz = sound.rate_hz / THINNING
        self._halves = low_pass(BAND_HZ, rate_hz)
        self._step = round(rate_hz / STEPS_PER_S)
        self._waiting = np.zeros((sound.channels, 0))
        self._before = [0.0, 0.0]
        self._filter_state = np.zeros((2, 6))
        self._open = np.zeros(SUMS)
        self._sums: list[Array] = []
        self._count = self._frames = 0

    def update(self, block: Array) -> None:
        self._frames += len(block)
        if not self._why_not:
            waiting = planar(block)
            if self._waiting.shape[1]:
                waiting = np.concatenate([self._waiting, waiting], axis=1)
            whole = waiting.shape[1] // THINNING * THINNING
            left, right = (self._thinned(channel, samples[:whole]) for channel, samples in enumerate(waiting))
            filtered(left, right, self._halves, self._filter_state)
            self._waiting = waiting[:, whole:].copy()
            ends = np.arange(self._step - self._count % self._step, len(left) + 1, self._step)
            sums = np.empty((len(ends), SUMS))
            pair_sums(left, right, ends, self._open, sums)
            self._sums.append(sums)
            self._count += len(left)

    def _thinned(self, channel: int, samples: Array) -> Array:
        thinned = np.empty(len(samples) // THINNING)
        self._before[channel] = thin(samples, self._before[channel], thinned)
        return thinned

    def result(self) -> tuple[Reading, ...]:
        if not self._frames:
            return (Reading.missing(NO_SOUND),)
        if self._why_not:
            return (Reading.missing(self._why_not),)
        steps = np.concatenate([np.zeros((0, SUMS)), *self._sums])
        if len(steps) < WINDOW_STEPS:
            return (Reading.missing("too short: under 3 s"),)
        windows = np.stack([sliding_sums(column, WINDOW_STEPS) for column in steps.T], axis=-1)
        power = (windows[:, LEFT] + windows[:, RIGHT]) / (2 * WINDOW_STEPS * self._step)
        loud = windows[power > QUIET_POWER]
        return (Reading(float(correlation(loud).min())) if len(loud) else Reading.missing("no lows to speak of"),)
