"""Samples at both edges, unprocessed: used to verify a join with a neighbour."""

from __future__ import annotations

import numpy as np

from delivery.audio.facts import SoundFacts
from delivery.dsp.events.layout import EDGE_FRAMES
from delivery.meters.meter import Array
from delivery.model.figure import Figure, Reading, Subject

AS_READ = "the samples themselves"


class EdgeSamples:
    """The first and the last samples of the file, interleaved."""

    subject = Subject.MATERIAL
    gives = (
        Figure("first_samples", "", None, f"The first {EDGE_FRAMES} samples of all channels, interleaved.", AS_READ),
        Figure("last_samples", "", None, f"The last {EDGE_FRAMES} samples of all channels, interleaved.", AS_READ),
    )

    def __init__(self, sound: SoundFacts) -> None:
        self._first = np.zeros((0, sound.channels))
        self._last = np.zeros((0, sound.channels))

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        missing = EDGE_FRAMES - len(self._first)
        if missing > 0:
            self._first = np.concatenate([self._first, block[:missing]])
        keep = block if len(block) >= EDGE_FRAMES else np.concatenate([self._last, block])
        self._last = keep[-EDGE_FRAMES:].copy()

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if len(self._first) < EDGE_FRAMES:
            short = Reading.missing(f"too short: under {EDGE_FRAMES} samples")
            return short, short
        return tuple(Reading(tuple(float(v) for v in edge.ravel())) for edge in (self._first, self._last))
