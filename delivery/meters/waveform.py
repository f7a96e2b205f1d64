"""The picture of the waveform on the sheet."""

from __future__ import annotations

import numpy as np

from delivery.audio.facts import SoundFacts
from delivery.dsp.peaks.outline import halved, outline
from delivery.meters.meter import NO_SOUND, Array, all_missing, planar
from delivery.meters.span_extremes import SpanExtremes
from delivery.model.figure import Figure, Reading, Subject

MOST = 800
FIRST_WIDTH = 16


class Waveform:
    """Lowest and highest sample of each slice; slices double in width if they become too many."""

    subject = Subject.MATERIAL
    shares = SpanExtremes
    gives = (
        Figure(
            "waveform_low", "", None, "Lowest sample of each slice over all channels, at most 800.", "for a picture"
        ),
        Figure("waveform_high", "", None, "Highest sample of each slice over all channels.", "for a picture"),
    )

    def __init__(self, sound: SoundFacts, spans: SpanExtremes | None = None) -> None:
        self._spans = spans or SpanExtremes(sound)
        self._width = FIRST_WIDTH
        self._low, self._high = np.full(MOST, np.inf), np.full(MOST, -np.inf)
        self._frames = 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        samples, spans = planar(block), self._spans.of(block)
        at = 0
        while True:
            at = outline(samples, *spans, at, self._frames, self._width, self._low, self._high)
            if at == len(block):
                break
            self._low, self._high = halved(self._low, self._high)
            self._width *= 2
        self._frames += len(block)

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if not self._frames:
            return all_missing(self.gives, NO_SOUND)
        slices = -(-self._frames // self._width)
        low, high = self._low[:slices] + 0.0, self._high[:slices] + 0.0  # a zero has no sign, whatever came first
        return Reading(tuple(low.tolist())), Reading(tuple(high.tolist()))
