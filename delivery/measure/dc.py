"""Direct current: a waveform that does not swing about zero."""

from __future__ import annotations

import numpy as np

from delivery.audio.facts import SoundFacts
from delivery.measure.meter import NO_SOUND, Array
from delivery.model.figure import Figure, Reading, Subject


class DcOffset:
    """Largest mean of any channel, in percent of full scale."""

    subject = Subject.SPECTRUM
    gives = (
        Figure("dc_offset_percent", "%", 3, "Largest mean of any channel over the file.", "common practice, no source"),
    )

    def __init__(self, sound: SoundFacts) -> None:
        self._sum = np.zeros(sound.channels)
        self._frames = 0

    def update(self, block: Array) -> None:
        self._sum += block.sum(axis=0)
        self._frames += len(block)

    def result(self) -> tuple[Reading, ...]:
        if not self._frames:
            return (Reading.missing(NO_SOUND),)
        return (Reading(100 * float(np.abs(self._sum / self._frames).max())),)
