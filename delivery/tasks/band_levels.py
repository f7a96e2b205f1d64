"""Band levels over time, taken in the same pass as the other figures: for references alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.dsp.spectrum.band_levels import LEAST_RATE_HZ, BandLevels, octave_middles_hz
from delivery.meters.low_rate import LowRate
from delivery.meters.meter import Meter, planar
from delivery.model.figure import Figure, Measurement, Reading, Subject

Array = NDArray[np.float64]
LEVELS = "octave_levels_db"
DIGITS = 2


class OctavesOverTime(Meter):
    """Level of each octave every 0.1 s. Not registered: it would make every measurement a tenth slower."""

    subject = Subject.MATERIAL
    gives = (
        Figure(
            LEVELS,
            "dBFS",
            DIGITS,
            "Level of each octave from 63 Hz to 16 kHz, one row every 0.1 s, row after row.",
            "IEC 61260-1:2014 (edges of the bands); the rest is common practice, no source",
        ),
    )
    shares = LowRate
    least_rate_hz = LEAST_RATE_HZ

    def __init__(self, sound: SoundFacts, low: LowRate | None = None) -> None:
        self._low = low or LowRate(sound)
        self._levels = BandLevels(sound.rate_hz, sound.channels, 4 * self._low.rate_hz, self._low.response_four_times)

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        self._levels.take(planar(block), self._low.at_four_times(block))

    def result(self) -> tuple[Reading, ...]:
        """The reading of the figure in `gives`."""
        return (Reading(tuple(np.round(self._levels.result(), DIGITS).ravel().tolist())),)


@dataclass(frozen=True, slots=True)
class Bands:
    """Octave levels over time."""

    levels_db: Array
    """(steps, bands), a step for each 0.1 s."""
    middles_hz: Array


def bands_of(measurement: Measurement) -> Bands | None:
    """Of a measurement by `OctavesOverTime` as well; None at low sample rates, and where there is no loudness."""
    levels = measurement.value(LEVELS)
    if levels is None or measurement.value("integrated_lufs") is None:
        return None
    middles_hz = octave_middles_hz(int(measurement.value("rate_hz")))
    return Bands(np.array(levels, np.float64).reshape(-1, len(middles_hz)), middles_hz)
