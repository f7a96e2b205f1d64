"""Number of samples above ceilings: left by a limiter or made by a rate conversion."""

from __future__ import annotations

import numpy as np

from delivery.audio.facts import SoundFacts
from delivery.dsp.peaks.extremes import count_above
from delivery.dsp.peaks.peak_events import CEILINGS_DBTP
from delivery.meters.meter import NO_SOUND, Array, all_missing, planar
from delivery.meters.span_extremes import SpanExtremes
from delivery.model.figure import Figure, Reading, Subject

FULL_SCALE = "AES17 (full scale)"


class SamplesAbove:
    """Samples of all channels whose magnitude is above each ceiling; at 0 dBFS only floats can be."""

    subject = Subject.PEAKS
    shares = SpanExtremes
    gives = (
        Figure("samples_above_dbfs", "dBFS", None, "Ceilings above which samples are counted.", "a ladder of 0.1 dB"),
        Figure(
            "samples_above_count",
            "",
            None,
            "Samples, of all channels, whose magnitude is above each ceiling; full scale is 1.0.",
            FULL_SCALE,
            along="samples_above_dbfs",
        ),
    )

    def __init__(self, sound: SoundFacts, spans: SpanExtremes | None = None) -> None:
        self._spans = spans or SpanExtremes(sound)
        self._rungs = 10 ** (np.array(CEILINGS_DBTP) / 20)
        self._counts = np.zeros(len(CEILINGS_DBTP), np.int64)
        self._frames = 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        self._frames += len(block)
        count_above(planar(block), *self._spans.of(block), self._rungs, self._counts)

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if not self._frames:
            return all_missing(self.gives, NO_SOUND)
        return Reading(CEILINGS_DBTP), Reading(tuple(np.cumsum(self._counts).tolist()))
