"""A recording with its codes, as one delivery of a release holds it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Recording:
    """A recording at its position on a release, now or in the past."""

    release: str
    """Key of the release."""
    album: str
    """Its title."""
    revision: int
    position: int
    isrc: str
    audio_hash: str
    """Of the master."""
    duration_s: float
    title: str
    version: str

    @property
    def named(self) -> str:
        """Title with its version in brackets."""
        return f"{self.title} ({self.version})" if self.version else self.title
