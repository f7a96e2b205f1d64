"""Brightness of a programme as one number."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from delivery.dsp.spectrum.band_sums import TILT_HZ, tilt_db
from delivery.model.figure import Figure, Reading, Subject


class Tilt:
    """Slope of a least-squares line through the third octaves from 100 Hz to 10 kHz; pink noise reads 0."""

    subject = Subject.SPECTRUM
    gives = (
        Figure(
            "spectral_tilt_db",
            "dB/octave",
            1,
            "Slope of a straight line through the third octaves from 100 Hz to 10 kHz; pink noise reads 0.",
            "common practice, no source",
            error="spectral_tilt_se_db",
        ),
    )
    needs = ("third_octave_hz", "third_octave_db")

    @staticmethod
    def derive(readings: Mapping[str, Reading]) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, from the *readings* of the other meters."""
        hz, levels = (np.array(readings[name].value) for name in Tilt.needs)
        if hz[-1] < TILT_HZ[1] / 10**0.05:
            return (Reading.missing("the spectrum does not reach 10 kHz"),)
        slope = float(tilt_db(hz, levels))
        return (Reading.missing("some bands hold no sound") if np.isnan(slope) else Reading(slope),)
