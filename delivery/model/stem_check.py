"""Stems beside the main mix that they are to add up to."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class StemFault:
    """What of one stem explains a part of what is left."""

    stem: str
    late_frames: int
    """How much later it is than in the main; negative: earlier."""
    gain_db: float
    """How much louder it is than in the main."""
    inverted: bool


@dataclass(frozen=True, slots=True)
class StemCheck:
    """The sum of stems compared with the main mix."""

    main: str
    stems: tuple[str, ...]
    rate_hz: int
    residual_db: float | None
    """RMS of the sum less the main, against the main; None: the main is silent."""
    faults: tuple[StemFault, ...] = ()
    mended_db: float | None = None
    """The same if the faults were corrected; None without faults."""
    unlike: tuple[str, ...] = ()
    """A sentence for each stem of another length, rate or number of channels."""
