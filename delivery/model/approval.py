"""Approval of masters: bound to their audio, so that it never stands beside other files than those that were heard."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import zip_longest


@dataclass(frozen=True, slots=True)
class Approval:
    """Somebody has approved these masters, in this order."""

    by: str
    dated: date
    audio_hashes: tuple[str, ...]
    """Of the masters in the order of the release, lower case; each at least its first eight figures."""

    def differing(self, audio_hashes: Sequence[str]) -> tuple[int, ...]:
        """Positions, counting from 1, where *audio_hashes* (of the masters now; '' where unknown) are not the approved.

        A track more or less than was approved differs too. Empty: the approval holds.
        """
        pairs = enumerate(zip_longest(self.audio_hashes, audio_hashes), start=1)
        return tuple(at for at, (approved, now) in pairs if not approved or not (now or "").startswith(approved))
