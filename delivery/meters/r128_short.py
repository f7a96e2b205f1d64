"""Figures of EBU R 128's supplements for short items and for streaming."""

from __future__ import annotations

from collections.abc import Mapping

from delivery.model.figure import Figure, Reading, Subject

TARGET_LUFS, TOLERANCE_LU = -23.0, 0.2
SHORT_TERM_LUFS, MOMENTARY_LUFS = -18.0, -15.0
STREAM_LUFS = (-20.0, -16.0)
PEAK_DBTP = -1.0
MET = "met"
SECOND_HAND = "read second-hand"


class R128Short:
    """Limits as published; the recipient's own document takes precedence."""

    subject = Subject.LOUDNESS
    method = (
        f"s1: integrated {TARGET_LUFS:.1f} LUFS within {TOLERANCE_LU:.1f} LU (the measuring tolerance of R 128 v5), "
        f"true peak at most {PEAK_DBTP:.0f} dBTP, and short-term at most {SHORT_TERM_LUFS:.0f} or momentary at most "
        f"{MOMENTARY_LUFS:.0f} LUFS. s2: integrated {STREAM_LUFS[0]:.0f} to {STREAM_LUFS[1]:.0f} LUFS, true peak at "
        f"most {PEAK_DBTP:.0f} dBTP. Values are compared unrounded. The recipient's own document decides; a file "
        "for another use is none the worse for 'not met'."
    )
    gives = (
        Figure(
            "r128_s1",
            "",
            None,
            "Whether a short item meets EBU R 128 s1, and if not, why.",
            f"EBU R 128 s1, {SECOND_HAND}",
        ),
        Figure(
            "r128_s2",
            "",
            None,
            "Whether a stream's distribution level meets EBU R 128 s2, and if not, why.",
            f"EBU R 128 s2 v3 (2023), {SECOND_HAND}",
        ),
    )
    needs = ("integrated_lufs", "true_peak_dbtp", "momentary_max_lufs")

    @staticmethod
    def derive(readings: Mapping[str, Reading]) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, from the *readings* of the other meters."""
        integrated, peak, momentary = (readings[name].value for name in R128Short.needs)
        short_term = readings["short_term_max_lufs"].value if "short_term_max_lufs" in readings else None
        over = [f"true peak {peak:.2f} dBTP"] if peak > PEAK_DBTP else []
        off = [f"integrated {integrated:.2f} LUFS"]
        s1 = [] if abs(integrated - TARGET_LUFS) <= TOLERANCE_LU else off
        brief = momentary <= MOMENTARY_LUFS or (short_term is not None and short_term <= SHORT_TERM_LUFS)
        loud = [] if brief else [f"momentary {momentary:.2f} LUFS and short-term {_or_none(short_term)}"]
        s2 = [] if STREAM_LUFS[0] <= integrated <= STREAM_LUFS[1] else off
        return _verdict([*s1, *loud, *over]), _verdict([*s2, *over])


def _or_none(lufs: float | None) -> str:
    return "not measured" if lufs is None else f"{lufs:.2f} LUFS"


def _verdict(reasons: list[str]) -> Reading:
    return Reading(f"not met: {', '.join(reasons)}" if reasons else MET)
