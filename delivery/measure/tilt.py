"""How bright or dark a programme is, in one number."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from delivery.model.figure import Figure, Reading, Subject

LOWEST_HZ, HIGHEST_HZ = 99.0, 10_001.0
BANDS = 21
EMPTY_DB = -100.0


class Tilt:
    """Straight line through the third octaves from 100 Hz to 10 kHz, by least squares; pink noise reads 0."""

    subject = Subject.SPECTRUM
    gives = (
        Figure(
            "spectral_tilt_db",
            "dB/octave",
            2,
            "Slope of a straight line through the third octaves from 100 Hz to 10 kHz; pink noise reads 0.",
            "common practice, no source",
        ),
    )
    needs = ("third_octave_hz", "third_octave_db")

    @staticmethod
    def derive(readings: Mapping[str, Reading]) -> tuple[Reading, ...]:
        hz, levels = (np.array(readings[name].value) for name in Tilt.needs)
        asked = (hz > LOWEST_HZ) & (hz < HIGHEST_HZ)
        if np.count_nonzero(asked) < BANDS:
            return (Reading.missing("the spectrum does not reach 10 kHz"),)
        if levels[asked].min() < EMPTY_DB:
            return (Reading.missing("some bands hold no sound"),)
        return (Reading(float(np.polyfit(np.log2(hz[asked]), levels[asked], 1)[0])),)
