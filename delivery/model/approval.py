"""Approval of masters: bound to their audio, so that it never stands beside other files than those that were heard."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Approval:
    """Somebody has approved these masters, in this order."""

    by: str
    dated: date
    audio_hashes: tuple[str, ...]
    """Of the masters in the order of the release, lower case; each at least its first eight figures."""

    def covers(self, position: int, audio_hash: str) -> bool:
        """Whether the master with *audio_hash* ('' where unknown) was approved at *position*, counting from 1."""
        approved = self.audio_hashes[position - 1 : position]
        return bool(approved) and audio_hash.startswith(approved[0])
