"""Crest factor: sample peak relative to the channel's own RMS."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from delivery.model.figure import Figure, Reading, Subject

QUIET_DBFS = -120.0


class CrestFactor:
    """Sample peak minus RMS, of the channel with the peak; a sine reads 3.01 dB."""

    subject = Subject.PEAKS
    gives = (
        Figure(
            "crest_factor_db",
            "dB",
            1,
            "Highest sample less the rms of its channel over the file; a sine reads 3.01.",
            "common practice, no source",
        ),
    )
    needs = ("sample_peaks_dbfs", "rms_dbfs")

    @staticmethod
    def derive(readings: Mapping[str, Reading]) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, from the *readings* of the other meters."""
        peaks, rms = (readings[name].value for name in CrestFactor.needs)
        channel = int(np.argmax(peaks))
        if peaks[channel] <= QUIET_DBFS:
            return (Reading.missing("quieter than -120 dBFS"),)
        return (Reading(peaks[channel] - rms[channel]),)
