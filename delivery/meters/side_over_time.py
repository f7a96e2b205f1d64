"""The side signal by octave over time: how much a cutting stylus moves up and down, and when it does most."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from delivery.model.figure import Figure, Reading, Subject

PRACTICE = "common practice at cutting rooms, no source; bands: IEC 61260-1:2014"
AUDIBLE_DBFS = -60.0
"""A stretch counts where mid and side together are above this in the octave, so that no noise floor is measured."""
Row = Sequence[float]


class SideOverTime:
    """Made of the octaves over time that the spectrum gives; the sound is not read again.

    Left and right are out of phase in an octave (correlation below zero) exactly where the side is above the mid.
    """

    subject = Subject.STEREO
    gives = (
        Figure("side_hz", "Hz", None, "Middles of the octaves in which the side is measured.", PRACTICE),
        Figure(
            "side_max_dbfs",
            "dBFS",
            None,
            "Highest level of left less right over root 2 in any stretch of time, by octave; sines of opposite "
            "polarity at full scale read 0.",
            PRACTICE,
            along="side_hz",
        ),
        Figure(
            "side_max_starts_s", "s", None, "Where each of these stretches begins, in s.", PRACTICE, along="side_hz"
        ),
        Figure(
            "out_of_phase_s",
            "s",
            None,
            "Time in which left and right are out of phase in each octave (correlation below zero): the length of "
            f"every stretch in which that is so and the octave is above {AUDIBLE_DBFS:.0f} dBFS.",
            PRACTICE,
            along="side_hz",
        ),
    )
    needs = ("octaves_over_time", "octaves_over_time_step_s", "duration_s")

    @staticmethod
    def derive(readings: Mapping[str, Reading]) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, from the *readings* of the other meters."""
        rows, step_s, duration_s = (readings[name].value for name in SideOverTime.needs)
        octaves = {hz: [row for row in rows if row[1] == hz] for hz in sorted({row[1] for row in rows})}
        highest = [max(each, key=lambda row: (row[3], -row[0])) for each in octaves.values()]
        return (
            Reading(tuple(octaves)),
            Reading(tuple(side_dbfs for _, _, _, side_dbfs in highest)),
            Reading(tuple(at_s for at_s, _, _, _ in highest)),
            Reading(tuple(_out_of_phase_s(each, step_s, duration_s) for each in octaves.values())),
        )


def _out_of_phase_s(rows: Sequence[Row], step_s: float, duration_s: float) -> float:
    """Of one octave; the last stretch is as long as the file lets it be."""
    audible = (row for row in rows if 10 ** (row[2] / 10) + 10 ** (row[3] / 10) > 10 ** (AUDIBLE_DBFS / 10))
    return float(
        sum(min(step_s, duration_s - at_s) for at_s, _, mid_dbfs, side_dbfs in audible if side_dbfs > mid_dbfs)
    )
