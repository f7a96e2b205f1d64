"""Approval of masters: bound to their audio, so that it is never printed for other files than those heard."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Approval:
    """Approval of these masters, in this order."""

    by: str
    dated: date
    audio_hashes: tuple[str, ...]
    """Hashes of the masters in release order, lower case; each at least its first eight digits."""

    def covers(self, position: int, audio_hash: str) -> bool:
        """True if the master with *audio_hash* ('' if unknown) was approved at *position*, counting from 1."""
        approved = self.audio_hashes[position - 1 : position]
        return bool(approved) and audio_hash.startswith(approved[0])
