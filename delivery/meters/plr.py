"""Peak to loudness ratio: the programme's highest peak relative to its loudness."""

from __future__ import annotations

from collections.abc import Mapping

from delivery.model.figure import Figure, Reading, Subject


class PeakToLoudness:
    """True peak minus integrated loudness; a derived figure, not part of BS.1770."""

    subject = Subject.PEAKS
    gives = (Figure("plr_db", "dB", 1, "True peak less integrated loudness.", "common practice, no source"),)
    needs = ("true_peak_dbtp", "integrated_lufs")

    @staticmethod
    def derive(readings: Mapping[str, Reading]) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, from the *readings* of the other meters."""
        return (Reading(readings["true_peak_dbtp"].value - readings["integrated_lufs"].value),)
