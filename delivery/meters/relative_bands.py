"""The long-term spectrum relative to the programme's loudness, to compare songs of any level."""

from __future__ import annotations

from collections.abc import Mapping

from delivery.model.figure import Figure, Reading, Subject


class RelativeBands:
    """Level of each third octave, channels added up as loudness adds them, less the integrated loudness."""

    subject = Subject.SPECTRUM
    gives = (
        Figure(
            "third_octave_re_loudness_db",
            "dB",
            None,
            "Level of each band, channels added up, less the integrated loudness.",
            "bands: IEC 61260-1; loudness: ITU-R BS.1770-5",
            along="third_octave_hz",
            error="third_octave_se_db",
        ),
    )
    needs = ("third_octave_db", "spectrum_level_dbfs", "integrated_lufs")

    @staticmethod
    def derive(readings: Mapping[str, Reading]) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, from the *readings* of the other meters."""
        levels, whole_dbfs, lufs = (readings[name].value for name in RelativeBands.needs)
        return (Reading(tuple(level + whole_dbfs - lufs for level in levels)),)
