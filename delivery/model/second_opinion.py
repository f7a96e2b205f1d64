"""SecondOpinion: a file's loudness by another library's meter."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SecondOpinion:
    """A value and its difference, or the reason there is none."""

    program: str
    """Name, version and filter of the other meter."""
    integrated_lufs: float | None = None
    difference_lu: float | None = None
    """The other value minus ours."""
    why_missing: str = ""
