"""Band levels over time of measured files, through the cache of measurements."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from delivery.audio.blocks import open_sound
from delivery.dsp.spectrum.band_levels import BandLevels, octave_middles_hz
from delivery.errors import DeliveryError
from delivery.ledger.cache import MeasurementCache
from delivery.meters import meters_version
from delivery.model.figure import Measurement, Reading
from delivery.model.source import Source
from delivery.pipeline.sources import Progress, side_by_side

Array = NDArray[np.float64]
LEVELS = "octave_levels_db"


@dataclass(frozen=True, slots=True)
class Bands:
    """Third-octave levels over time."""

    levels_db: Array
    """(steps, bands), a step for each 0.1 s."""
    middles_hz: Array


def band_levels(
    sources: Sequence[Source], cache: MeasurementCache | None, workers: int, progress: Progress
) -> list[Bands | None]:
    """Of each source; None where it cannot be read, or holds no loudness."""
    return side_by_side(lambda source: _levels(source, cache), sources, workers, "measuring bands over time", progress)


def _levels(source: Source, cache: MeasurementCache | None) -> Bands | None:
    if source.measurement is None or source.measurement.value("integrated_lufs") is None:
        return None
    middles = octave_middles_hz(int(source.measurement.value("rate_hz")))
    version = f"{meters_version()}, band levels over time"
    found = cache.get(source.sha256, version) if cache else None
    if found is None:
        try:
            found = Measurement({LEVELS: Reading(_measured(source))})
        except DeliveryError:
            return None
        if cache:
            cache.put(source.sha256, version, found)
    return Bands(np.array(found.value(LEVELS), np.float64).reshape(-1, len(middles)), middles)


def _measured(source: Source) -> tuple[float, ...]:
    with open_sound(source.track.file, count=False) as sound:
        bands = BandLevels(sound.facts.rate_hz, sound.facts.channels)
        for block in sound.blocks():
            bands.update(block)
    return tuple(np.round(bands.result(), 2).ravel().tolist())
