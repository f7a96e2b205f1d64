"""Several files measured as one programme, such as a whole album."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ProgrammeTotals:
    """Gated as one programme, which is not the average of the files."""

    files: int
    measured: int
    """Number of files that could be measured; the figures cover these."""
    duration_s: float
    integrated_lufs: float | None = None
    why_no_loudness: str = ""
    true_peak_dbtp: float | None = None
    """None also if the true peak of any file could not be measured."""
    true_peak_file: str = ""
    """Name of the file with that peak."""
