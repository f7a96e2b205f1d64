"""Highest level of the treble, which heats a cutting head and distorts in inner grooves."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from delivery.meters.meter import SILENT, all_missing
from delivery.model.figure import Figure, Reading, Subject

FIRST_HZ, LAST_HZ = 5_000.0, 16_000.0
EDGE = 2 ** (1 / 6)
"""A third octave extends this far on either side of its middle."""


class TreblePeaks:
    """From the third octaves of 5 to 16 kHz, which extend from 4.5 to 17.8 kHz."""

    subject = Subject.SPECTRUM
    gives = (
        Figure(
            "treble_peak_dbfs",
            "dBFS",
            1,
            "Level from 5 to 16 kHz at peaks: in each third octave what 99 of 100 windows (0.13 to 0.19 s) stay "
            "under, added up, channels too; a full-scale sine in both of two channels reads 0.",
            "common practice at cutting rooms, no source; bands: IEC 61260-1:2014",
            error="treble_peak_se_db",
        ),
        Figure(
            "treble_peak_se_db",
            "dB",
            1,
            "Standard error of the treble's level at peaks, as if all its bands were in error alike.",
            "from the standard errors of the bands",
        ),
    )
    needs = ("third_octave_hz", "third_octave_99_db", "spectrum_level_dbfs")

    @staticmethod
    def derive(readings: Mapping[str, Reading]) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, from the *readings* of the other meters."""
        middles_hz, levels_db, whole_dbfs = (readings[name].value for name in TreblePeaks.needs)
        if middles_hz[-1] * EDGE < LAST_HZ:
            return all_missing(TreblePeaks.gives, "its sample rate leaves no room up to 16 kHz")
        middles = np.asarray(middles_hz, np.float64)
        treble = (middles * EDGE > FIRST_HZ) & (middles < LAST_HZ * EDGE)
        powers = 10 ** (np.asarray(levels_db, np.float64)[treble] / 10)
        power = float(powers.sum())
        if not power:
            return all_missing(TreblePeaks.gives, SILENT)
        level = Reading(whole_dbfs + 10 * float(np.log10(power)))
        errors = readings["third_octave_99_se_db"]
        if not errors.exists:
            return level, errors
        return level, Reading(float(np.dot(powers, np.asarray(errors.value, np.float64)[treble])) / power)
