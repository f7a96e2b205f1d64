"""Several files as one programme: what an album measures as a whole."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ProgrammeTotals:
    """Gated over everything at once, which is not the average of the files."""

    files: int
    measured: int
    """How many of them could be measured; the figures are of these."""
    duration_s: float
    integrated_lufs: float | None = None
    why_no_loudness: str = ""
    true_peak_dbtp: float | None = None
    """None also where the true peak of any file could not be measured."""
    true_peak_file: str = ""
    """Name of the file that has it."""
