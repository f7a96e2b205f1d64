"""Lows out of phase: what lifts the cutting stylus out of the lacquer."""

from __future__ import annotations

import numpy as np

from delivery.audio.facts import SoundFacts
from delivery.dsp.gating import sliding_sums
from delivery.dsp.pairs import LEFT, RIGHT, SUMS, correlation, filtered, low_pass, pair_sums, thin, thinning
from delivery.measure.meter import NO_SOUND, NOT_STEREO, Array, planar
from delivery.model.figure import Figure, Reading

BAND_HZ = 300
LEAST_RATE_HZ = 5000
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
        self._stereo = sound.channels == 2
        self._factor = thinning(sound.rate_hz, LEAST_RATE_HZ)
        rate_hz = sound.rate_hz / self._factor
        self._halves = low_pass(BAND_HZ, rate_hz)
        self._step = round(rate_hz / STEPS_PER_S)
        self._thin_state = np.zeros((2, 4))
        self._filter_state = np.zeros((2, 2, 2))
        self._open = np.zeros(SUMS)
        self._sums: list[Array] = []
        self._count = self._frames = 0

    def update(self, block: Array) -> None:
        self._frames += len(block)
        if self._stereo:
            left, right = (self._lows(channel, samples) for channel, samples in enumerate(planar(block)))
            ends = np.arange(self._step - self._count % self._step, len(left) + 1, self._step)
            sums = np.empty((len(ends), SUMS))
            pair_sums(left, right, ends, self._open, sums)
            self._sums.append(sums)
            self._count += len(left)

    def _lows(self, channel: int, samples: Array) -> Array:
        room = np.empty(len(samples) // self._factor + 1)
        lows = room[: thin(samples, self._factor, self._thin_state[channel], room)]
        filtered(lows, self._halves, self._filter_state[channel])
        return lows

    def result(self) -> tuple[Reading, ...]:
        if not self._frames:
            return (Reading.missing(NO_SOUND),)
        if not self._stereo:
            return (Reading.missing(NOT_STEREO),)
        steps = np.concatenate([np.zeros((0, SUMS)), *self._sums])
        if len(steps) < WINDOW_STEPS:
            return (Reading.missing("too short: under 3 s"),)
        windows = np.stack([sliding_sums(column, WINDOW_STEPS) for column in steps.T], axis=-1)
        power = (windows[:, LEFT] + windows[:, RIGHT]) / (2 * WINDOW_STEPS * self._step)
        loud = windows[power > QUIET_POWER]
        return (Reading(float(correlation(loud).min())) if len(loud) else Reading.missing("no lows to speak of"),)
