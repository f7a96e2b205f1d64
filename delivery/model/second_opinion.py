"""SecondOpinion: what somebody else's meter says of a file's loudness."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SecondOpinion:
    """A value and its difference, or the reason there is none."""

    program: str
    """Name, edition and filter of the other meter."""
    integrated_lufs: float | None = None
    difference_lu: float | None = None
    """The other less ours."""
    why_missing: str = ""
