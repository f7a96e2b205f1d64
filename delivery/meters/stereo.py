"""The two channels of a stereo file compared."""

from __future__ import annotations

import numpy as np

from delivery.audio.facts import SoundFacts
from delivery.dsp.blocks.series import Series
from delivery.dsp.loudness.k_weighting import step_ends
from delivery.dsp.stereo.pairs import DIFFERENCE, LEFT, RIGHT, SUM, SUMS, LowestCorrelation, correlation, pair_sums
from delivery.meters.meter import NO_SOUND, NOT_STEREO, Array, all_missing, planar
from delivery.meters.span_extremes import SpanExtremes
from delivery.model.figure import Figure, Reading, Subject

PRACTICE = "common practice, no source"
STEPS_PER_S = 10
WINDOW_STEPS = 30
QUIET_POWER = 10 ** (-60 / 10)
"""Windows below this mean square are ignored for correlation: they would measure the noise floor."""
DEAD = 10 ** (-80 / 20)
INVERTED_LOSS_DB = 30.0
DEEPEST_DB = 120.0


class Stereo:
    """Correlation, balance, and mono fold-down loss; dead, identical and inverted channels."""

    subject = Subject.STEREO
    method = (
        "Sums over the whole file of left x right over the root of both energies, full band, no mean taken "
        "off; for the "
        "lowest value every 3 s, every 0.1 s, whose mean square is above -60 dBFS rms. Mono sum: half of "
        "left plus right. "
        "Dead: no sample above -80 dBFS. Inverted: the mono sum is 30 dB or more below the channels."
    )
    shares = SpanExtremes
    gives = (
        Figure("correlation", "", 2, "Correlation of left and right over the file: 1 same, 0 unrelated.", PRACTICE),
        Figure("correlation_min", "", 2, "Lowest correlation over 3 s, in windows above -60 dBFS rms.", PRACTICE),
        Figure(
            "correlation_curve",
            "",
            None,
            "Correlation of each whole second; 0 where it is quieter than -60 dBFS rms.",
            PRACTICE,
            along="curve_step_s",
        ),
        Figure("balance_db", "dB", 2, "Left over right, rms; positive when left is louder.", PRACTICE),
        Figure("mono_loss_db", "dB", 2, "Level lost in the mono sum: 0 same, 3 unrelated, 120 nothing left.", PRACTICE),
        Figure("dead_channels", "", None, "Channels, from 1, that never rise above -80 dBFS.", PRACTICE),
        Figure("identical_channels", "", None, "Left and right are the same, sample for sample.", PRACTICE),
        Figure("inverted_channels", "", None, "One channel mirrors the other: the mono sum loses 30 dB.", PRACTICE),
    )

    def __init__(self, sound: SoundFacts, spans: SpanExtremes | None = None) -> None:
        self._spans = spans or SpanExtremes(sound)
        self._sound = sound
        self._peaks = np.zeros(sound.channels)
        self._open = np.zeros(SUMS)
        self._steps = Series(SUMS)
        self._frames = 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        samples = planar(block)
        np.maximum(self._peaks, self._spans.of(block).peaks(), out=self._peaks)
        if self._sound.channels == 2:
            left, right = samples
            ends = step_ends(self._frames, len(block), self._sound.rate_hz, STEPS_PER_S)
            sums = np.empty((len(ends), SUMS))
            pair_sums(left, right, ends, self._open, sums)
            self._steps.append(sums)
        self._frames += len(block)

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if not self._frames:
            return all_missing(self.gives, NO_SOUND)
        quiet = np.flatnonzero(self._peaks <= DEAD) + 1
        dead = Reading(tuple(quiet.tolist()))
        if self._sound.channels != 2:
            return *all_missing(self.gives[:5], NOT_STEREO), dead, *all_missing(self.gives[6:], NOT_STEREO)
        whole = self._steps.rows.sum(axis=0) + self._open
        identical = Reading(bool(whole[DIFFERENCE] == 0))
        if min(whole[LEFT], whole[RIGHT]) == 0:
            return *all_missing(self.gives[:5], "a channel is silent"), dead, identical, Reading(False)
        loss_db = _mono_loss_db(whole)
        return (
            Reading(float(correlation(whole))),
            self._lowest_correlation(),
            self._curve(),
            Reading(10 * float(np.log10(whole[LEFT] / whole[RIGHT]))),
            Reading(loss_db),
            dead,
            identical,
            Reading(loss_db >= INVERTED_LOSS_DB),
        )

    def _curve(self) -> Reading:
        seconds = len(self._steps) // STEPS_PER_S
        if not seconds:
            return Reading.missing("too short: under 1 s")
        sums = self._steps.rows[: seconds * STEPS_PER_S].reshape(seconds, STEPS_PER_S, SUMS).sum(axis=1)
        loud = sums[:, LEFT] + sums[:, RIGHT] > 2 * QUIET_POWER * self._sound.rate_hz
        return Reading(tuple(np.where(loud, correlation(sums), 0.0).tolist()))

    def _lowest_correlation(self) -> Reading:
        lowest = LowestCorrelation(WINDOW_STEPS, self._sound.rate_hz / STEPS_PER_S, QUIET_POWER)
        lowest.append(self._steps.rows)
        if not lowest.windows:
            return Reading.missing("too short: under 3 s")
        found = lowest.result()
        return Reading(found[0]) if found else Reading.missing("quieter than -60 dBFS rms")


def _mono_loss_db(whole: Array) -> float:
    kept = whole[SUM] / (2 * (whole[LEFT] + whole[RIGHT]))
    return -10 * float(np.log10(max(kept, 10 ** (-DEEPEST_DB / 10)))) + 0.0
