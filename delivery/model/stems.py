"""StemSum: the sum of the stems minus the main mix."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class StemSum:
    """The sum of stems compared with the main mix."""

    title: str
    """Title of the song."""
    stems: tuple[int, ...]
    """Positions of the stems."""
    main: int | None = None
    """Position of the main mix; None if the release has none."""
    residual_db: float | None = None
    """RMS of the sum minus the main mix, relative to that of the main mix; at least -200. None: see ``why_missing``."""
    why_missing: str = ""
