"""Clipping: runs of equal samples at a channel's own extreme, a fact; and of nearly equal ones, a sign."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.dsp.peaks.equal_runs import (
    BASE,
    BEFORE,
    COUNT,
    EXTREME,
    FLOATS,
    KEPT,
    LISTED,
    LONGEST,
    NEAR_COUNT,
    NEAR_LISTED,
    NEAR_LONGEST,
    TOP,
    WHOLES,
    close_run,
    follow,
)
from delivery.meters.meter import NO_SOUND, Array, all_missing, planar
from delivery.meters.span_extremes import SpanExtremes
from delivery.model.answer import Weight
from delivery.model.figure import Figure, Reading, Subject

PRACTICE = "common practice, no source"
TUNED = "common practice, no source; limits tuned on planted clipping"
APART_S = 0.1
LEAST_NEAR_RUNS = 2
"""Of one side of one channel. A limiter leaves one by chance."""
Integers = NDArray[np.int64]


class ClipRuns:
    """Flat tops, at whatever level the waveform was cut.

    A run is three or more neighbouring samples of exactly the same value, that value being the highest or the lowest
    of its channel in the whole file, and it begins or ends with a step of at least 2**-13 of full scale. The step
    leaves out the rounded tops of slow waves and digital silence, and so does the rule that the value lies at least
    2**-13 on its own side of zero, for a channel that never crosses zero; one or two equal samples, as a limiter leaves
    them at its ceiling, are not a run.

    Dither added after clipping, at whatever level, makes the samples of a run differ by up to three steps of 16 bits.
    Such runs are counted by themselves, as a sign: four or more samples within that distance of the channel's extreme,
    with falls of at least 32 steps beside them on one side and 8 on the other, at least twice and more often than equal
    ones. Square waves look the same. Not found: clipping that was filtered, converted in rate or coded with loss since.
    """

    subject = Subject.CLIP
    shares = SpanExtremes
    gives = (
        Figure(
            "clip_run_count",
            "",
            0,
            "Runs of 3 or more equal samples at a channel's own highest or lowest value, with a step beside them.",
            PRACTICE,
        ),
        Figure("clip_run_longest", "frames", 0, "Length of the longest such run.", PRACTICE),
        Figure("clip_runs_at_s", "", None, "Where the ten longest are, at least 0.1 s apart.", PRACTICE),
        Figure(
            "dithered_clip_run_count",
            "",
            0,
            "Runs of 4 or more samples within 3 steps of 16 bits of a channel's own extreme, with falls beside them.",
            TUNED,
            weight=Weight.WEAK_SIGN,
        ),
        Figure("dithered_clip_run_longest", "frames", 0, "Length of the longest such run.", TUNED),
        Figure("dithered_clip_runs_at_s", "", None, "Where the ten longest of these are, at least 0.1 s apart.", TUNED),
        Figure(
            "dithered_clip_ceilings",
            "",
            None,
            "Level at which the waveform seems to have been cut: channel, dBFS, number of runs.",
            TUNED,
            columns=("channel", "dbfs", "runs"),
        ),
    )

    def __init__(self, sound: SoundFacts, spans: SpanExtremes | None = None) -> None:
        self._spans = spans or SpanExtremes(sound)
        shape = (sound.channels, 2)
        self._rate_hz = sound.rate_hz
        self._apart = round(APART_S * sound.rate_hz)
        self._floats = np.zeros((*shape, FLOATS))
        self._floats[..., [EXTREME, TOP, BASE]] = -np.inf
        self._floats[..., BEFORE] = np.nan
        self._wholes = np.zeros((*shape, WHOLES), np.int64)
        self._runs = np.zeros((*shape, KEPT, 2), np.int64)
        self._near_runs = np.zeros((*shape, KEPT, 2), np.int64)
        self._frames = 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        for c, found in enumerate(zip(planar(block), *self._spans.of(block), strict=True)):
            kept = (self._floats[c], self._wholes[c], self._runs[c], self._near_runs[c])
            follow(*found, self._frames, *kept, self._apart)
        self._frames += len(block)

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if not self._frames:
            return all_missing(self.gives, NO_SOUND)
        for side in np.ndindex(self._wholes.shape[:2]):
            close_run(0.0, self._floats[side], self._wholes[side], self._runs[side], self._apart)
        count, longest = int(self._wholes[..., COUNT].sum()), int(self._wholes[..., LONGEST].max())
        every = list(np.ndindex(self._wholes.shape[:2]))
        starts_s = self._longest_s(self._runs, every, LISTED)
        return Reading(count), Reading(longest), Reading(starts_s), *self._dithered(every)

    def _dithered(self, every: list[tuple[int, ...]]) -> tuple[Reading, ...]:
        """Readings of the runs of nearly equal samples, from the sides where dither hides most of the equal ones."""
        counts = self._wholes[..., NEAR_COUNT]
        sides = [side for side in every if counts[side] >= max(LEAST_NEAR_RUNS, self._wholes[side][COUNT] + 1)]
        if not sides:
            return Reading(0), Reading(0), Reading(()), Reading(())
        ceilings = tuple(
            (side[0] + 1, 20 * float(np.log10(self._floats[side][TOP])), int(counts[side])) for side in sides
        )
        longest = max(int(self._wholes[side][NEAR_LONGEST]) for side in sides)
        starts_s = self._longest_s(self._near_runs, sides, NEAR_LISTED)
        return Reading(sum(row[2] for row in ceilings)), Reading(longest), Reading(starts_s), Reading(ceilings)

    def _longest_s(self, runs: Integers, sides: list[tuple[int, ...]], listed: int) -> tuple[float, ...]:
        """Starts of the ten longest *runs* of these sides, one for each neighbourhood, in order of time."""
        rows = [tuple(row) for side in sides for row in runs[side][: self._wholes[side][listed]].tolist()]
        chosen: list[int] = []
        for start, _length in sorted(rows, key=lambda row: (-row[1], row[0])):
            if len(chosen) < KEPT and all(abs(start - other) >= self._apart for other in chosen):
                chosen.append(start)
        return tuple(start / self._rate_hz for start in sorted(chosen))
