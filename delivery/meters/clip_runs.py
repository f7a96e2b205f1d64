"""Clipping as a fact: runs of equal samples at a channel's own extreme."""

from __future__ import annotations

import numpy as np

from delivery.audio.facts import SoundFacts
from delivery.dsp.peaks.equal_runs import COUNT, FLOATS, KEPT, LISTED, LONGEST, WHOLES, close_run, follow
from delivery.meters.meter import NO_SOUND, Array, all_missing, planar
from delivery.model.figure import Figure, Reading, Subject

PRACTICE = "common practice, no source"
APART_S = 0.1


class ClipRuns:
    """Flat tops, at whatever level the waveform was cut.

    A run is three or more neighbouring samples of exactly the same value, that value being the highest or the lowest
    of its channel in the whole file, and it begins or ends with a step of at least 2**-13 of full scale. The step
    leaves out the rounded tops of slow waves and digital silence, and so does the rule that the value lies at least
    2**-13 on its own side of zero, for a channel that never crosses zero; one or two equal samples, as a limiter leaves
    them at its ceiling, are not a run. Dither added after clipping hides the run, and then none is counted.
    """

    subject = Subject.CLIP
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
    )

    def __init__(self, sound: SoundFacts) -> None:
        shape = (sound.channels, 2)
        self._rate_hz = sound.rate_hz
        self._apart = round(APART_S * sound.rate_hz)
        self._floats = np.tile([-np.inf, np.nan, 0.0], (*shape, 1)).reshape(*shape, FLOATS)
        self._wholes = np.zeros((*shape, WHOLES), np.int64)
        self._runs = np.zeros((*shape, KEPT, 2), np.int64)
        self._frames = 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        for c, samples in enumerate(planar(block)):
            follow(samples, self._frames, self._floats[c], self._wholes[c], self._runs[c], self._apart)
        self._frames += len(block)

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if not self._frames:
            return all_missing(self.gives, NO_SOUND)
        for side in np.ndindex(self._wholes.shape[:2]):
            close_run(0.0, self._floats[side], self._wholes[side], self._runs[side], self._apart)
        starts = tuple(start / self._rate_hz for start in self._longest())
        count, longest = int(self._wholes[..., COUNT].sum()), int(self._wholes[..., LONGEST].max())
        return Reading(count), Reading(longest), Reading(starts)

    def _longest(self) -> list[int]:
        """First frames of the ten longest runs of all channels, one for each neighbourhood, in order of time."""
        sides = np.ndindex(self._wholes.shape[:2])
        rows = [tuple(row) for side in sides for row in self._runs[side][: self._wholes[side][LISTED]].tolist()]
        chosen: list[int] = []
        for start, _length in sorted(rows, key=lambda row: (-row[1], row[0])):
            if len(chosen) < KEPT and all(abs(start - other) >= self._apart for other in chosen):
                chosen.append(start)
        return sorted(chosen)
