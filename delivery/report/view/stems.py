"""Stems beside their main in sentences. Pure."""

from __future__ import annotations

from delivery.model.stem_check import StemCheck, StemFault
from delivery.report.view import words

SUMS_DB = -60.0
LEVEL_DB = 0.1
NOTHING_DB = -90.0


def stem_sentences(check: StemCheck) -> tuple[str, ...]:
    """Whether they add up, what is at fault, and stems of another form."""
    return (*_sum(check), *check.unlike)


def _sum(check: StemCheck) -> tuple[str, ...]:
    stems = words.counted(len(check.stems), "stem")
    if check.residual_db is None:
        return (f"{words.plain(check.main)} is silent: its {stems} cannot be compared with it.",)
    sums, does = ("adds up", "does") if len(check.stems) == 1 else ("add up", "do")
    if check.residual_db <= SUMS_DB:
        return (f"{stems} {sums} to {words.plain(check.main)}: residual {check.residual_db:.1f} dB.",)
    summary = f"{stems} {does} not add up to {words.plain(check.main)}: residual {check.residual_db:.1f} dB"
    if not check.faults:
        return (
            f"{summary}.",
            "No delay or level of one stem explains it: processing of the mix bus (a compressor or limiter on the "
            "sum), or a stem that is missing.",
        )
    faults = "; ".join(_fault(fault, check.rate_hz) for fault in check.faults)
    nothing = check.mended_db is not None and check.mended_db < NOTHING_DB
    left = "nothing" if nothing else f"{check.mended_db:.1f} dB"
    return f"{summary}; {faults}.", f"After correction, {left} is left."


def _fault(fault: StemFault, rate_hz: int) -> str:
    said = []
    if fault.late_frames:
        way = "late" if fault.late_frames > 0 else "early"
        ms = 1000 * abs(fault.late_frames) / rate_hz
        said.append(f"{way} by {words.counted(abs(fault.late_frames), 'sample')} ({ms:.1f} ms)")
    if abs(fault.gain_db) >= LEVEL_DB:
        said.append(f"{abs(fault.gain_db):.1f} dB too {'loud' if fault.gain_db > 0 else 'quiet'}")
    if fault.inverted:
        said.append("inverted in polarity")
    return f"{words.plain(fault.stem)} {words.listed(said)}"
