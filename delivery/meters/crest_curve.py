"""Peak above level, second by second."""

from __future__ import annotations

from collections.abc import Mapping

from delivery.model.figure import Figure, Reading, Subject

QUIET_DBFS = -60.0


class CrestCurve:
    """True peak of each whole second, over all channels, minus the RMS of that second, all channels together.

    Seconds below -60 dBFS RMS read 0. A sine in every channel reads 3.01 dB.
    """

    subject = Subject.PEAKS
    gives = (
        Figure(
            "crest_curve_db",
            "dB",
            None,
            "True peak less rms of each whole second; 0 where it is quieter than -60 dBFS rms.",
            "common practice, no source",
            along="curve_step_s",
        ),
    )
    needs = ("peak_curve_dbtp", "rms_curve_dbfs")

    @staticmethod
    def derive(readings: Mapping[str, Reading]) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, from the *readings* of the other meters."""
        peaks, levels = (readings[name].value for name in CrestCurve.needs)
        pairs = zip(peaks, levels, strict=False)  # peaks have the unfinished second at the end too
        return (Reading(tuple(peak - level if level > QUIET_DBFS else 0.0 for peak, level in pairs)),)
