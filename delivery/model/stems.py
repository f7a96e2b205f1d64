"""StemSum: what is left when the main mix is taken from the sum of its stems."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class StemSum:
    title: str
    """Of the song."""
    stems: tuple[int, ...]
    """Positions of the tracks that were added up."""
    main: int | None = None
    """Position of the main mix; None where the release has none."""
    residual_db: float | None = None
    """Rms of the sum less the main, relative to the rms of the main; at least -200. None: see ``why_missing``."""
    why_missing: str = ""
