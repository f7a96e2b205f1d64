"""Peak to short-term loudness ratio: the density of the densest passages."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from delivery.model.figure import Figure, Reading, Subject

WINDOW_S = 3
GATE_LUFS, GATE_LU = -70.0, -20.0
SHARE = 0.05
PRACTICE = "common practice, no source"
WINDOW = "in a window of 3 s, one each second, that is not 20 LU below the programme"


class PeakToShortTerm:
    """True peak of 3 s minus the loudness of the same 3 s, every second; windows in quiet passages are left out."""

    subject = Subject.LOUDNESS
    gives = (
        Figure("psr_min_db", "dB", 1, f"Least true peak less short-term loudness, {WINDOW}.", PRACTICE),
        Figure("psr_min_at_s", "s", 0, "Where that window begins.", PRACTICE),
        Figure("psr_low_db", "dB", 1, "What 19 of 20 of these windows are above (5th percentile).", PRACTICE),
    )
    needs = ("peak_curve_dbtp", "short_term_curve_lufs", "integrated_lufs")

    @staticmethod
    def derive(readings: Mapping[str, Reading]) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, from the *readings* of the other meters."""
        peaks, loudness = (np.array(readings[name].value) for name in PeakToShortTerm.needs[:2])
        highest = np.stack([peaks[k : k + len(loudness)] for k in range(WINDOW_S)]).max(axis=0)
        requested = np.flatnonzero(loudness > max(GATE_LUFS, readings["integrated_lufs"].value + GATE_LU))
        if not len(requested):
            return (Reading.missing("no 3 s are as loud as the programme"),) * 3
        ratios = highest[requested] - loudness[requested]
        low = np.sort(ratios)[int((len(ratios) - 1) * SHARE + 0.5)]
        return Reading(float(ratios.min())), Reading(float(requested[ratios.argmin()])), Reading(float(low))
