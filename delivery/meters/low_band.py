"""Low band out of phase, which lifts the cutting stylus out of the lacquer."""

from __future__ import annotations

import numpy as np

from delivery.audio.facts import SoundFacts
from delivery.dsp.blocks.series import Series
from delivery.dsp.loudness.k_weighting import step_ends
from delivery.dsp.stereo.low_passes import NUMERATOR_HISTORY, low_passes, low_sums, numerator
from delivery.dsp.stereo.pairs import BATCH_STEPS, SUMS, LowestCorrelation
from delivery.meters.low_rate import LowRate
from delivery.meters.meter import NO_SOUND, NOT_STEREO, Array, all_missing
from delivery.model.figure import Figure, Reading, Subject

BAND_HZ = 300
BANDS_HZ = (100, 150, 200, 250, BAND_HZ)
"""Cutting rooms name frequencies between 100 and 300 Hz."""
LEAST_RATE_HZ = 32_000
"""Below this rate the band would alias; such files have no figure."""
LOW_RATE = "only from 32 kHz on"
STEPS_PER_S = 10
WINDOW_STEPS = 30
PRACTICE = "common practice at cutting rooms, no standard"
QUIET_POWER = 10 ** (-60 / 10)


class LowBand:
    """Correlation of left and right below 300 Hz and below lower frequencies, on decimated audio."""

    subject = Subject.STEREO
    method = (
        f"Butterworth low-pass of fourth order, 3 dB down at each of {', '.join(map(str, BANDS_HZ))} Hz, "
        "nothing taken off "
        "below; sums of products and squares in steps of 0.1 s; correlation of every 3 s, every 0.1 s, where the mean "
        "square of the band is above -60 dBFS rms; the lowest, and where its 3 s begin. The low-pass runs at "
        "a decimated "
        "rate of 2.4 to 4.8 kHz."
    )
    shares = LowRate
    gives = (
        Figure(
            "low_band_correlation_min",
            "",
            2,
            "Lowest correlation below 300 Hz over 3 s, in windows above -60 dBFS rms in that band.",
            PRACTICE,
        ),
        Figure("low_band_hz", "Hz", None, "Frequencies below which the low band is measured.", PRACTICE),
        Figure(
            "low_band_correlations_min",
            "",
            None,
            "Lowest correlation over 3 s below each of them; 1 where there are hardly any low frequencies.",
            PRACTICE,
            along="low_band_hz",
        ),
        Figure("low_band_at_s", "s", None, "Where each of these stretches begins.", PRACTICE, along="low_band_hz"),
        Figure(
            "low_band_below_zero_s",
            "s",
            None,
            "Time out of phase below each of them: 0.1 s for every window of 3 s whose correlation is below 0.",
            PRACTICE,
            along="low_band_hz",
        ),
    )

    def __init__(self, sound: SoundFacts, low: LowRate | None = None) -> None:
        self._why_not = NOT_STEREO if sound.channels != 2 else "" if sound.rate_hz >= LEAST_RATE_HZ else LOW_RATE
        self._rate_hz = sound.rate_hz
        self._low = low or LowRate(sound)
        self._decimation = round(sound.rate_hz / (2 * self._low.rate_hz))
        self._low_passes = low_passes(BANDS_HZ, 2 * self._low.rate_hz)
        self._history = np.zeros((sound.channels, NUMERATOR_HISTORY), np.float32)
        self._sums = Series(len(BANDS_HZ), SUMS)
        step_frames = 2 * self._low.rate_hz / STEPS_PER_S
        self._lowest = [LowestCorrelation(WINDOW_STEPS, step_frames, QUIET_POWER) for _ in BANDS_HZ]
        self._count = self._frames = 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        self._frames += len(block)
        if self._why_not:
            return
        samples = np.concatenate([self._history, self._low.at_twice(block)], axis=1)
        count = samples.shape[1] - NUMERATOR_HISTORY
        self._history = samples[:, count:].copy()
        both = np.empty((2, count))
        for row, filtered in zip(samples, both, strict=True):
            numerator(row, filtered)
        ends = step_ends(self._count, count, self._rate_hz, self._decimation * STEPS_PER_S)
        sums = np.empty((len(ends), len(BANDS_HZ), SUMS))
        low_sums(both[0], both[1], ends, self._low_passes, sums)
        self._sums.append(sums)
        if len(self._sums) >= BATCH_STEPS:
            self._hand_on()
        self._count += count

    def _hand_on(self) -> None:
        for lowest, sums in zip(self._lowest, self._sums.rows.swapaxes(0, 1), strict=True):
            lowest.append(sums)
        self._sums = Series(len(BANDS_HZ), SUMS)

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if not self._frames or self._why_not:
            return all_missing(self.gives, self._why_not or NO_SOUND)
        self._hand_on()
        if not self._lowest[-1].windows:
            return all_missing(self.gives, "too short: under 3 s")
        found = [lowest.result() for lowest in self._lowest]
        lowest = tuple(1.0 if each is None else each[0] for each in found)
        at_s = tuple(0.0 if each is None else each[1] / STEPS_PER_S for each in found)
        widest = Reading.missing("hardly any low frequencies") if found[-1] is None else Reading(found[-1][0])
        below_zero_s = tuple(each.below_zero() / STEPS_PER_S for each in self._lowest)
        return widest, Reading(BANDS_HZ), Reading(lowest), Reading(at_s), Reading(below_zero_s)
