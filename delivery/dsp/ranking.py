"""Places to listen to, ranked: neighbours are one place, the strongest are kept, all are counted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

KEPT = 20
MANY_A_MINUTE = 10
"""A fault is rare; what is found more often than that, and more often than can be listed, is how the music is made."""
SEVERAL = 0


class Place(NamedTuple):
    frame: int
    channel: int
    """From 1; 0: in more than one."""
    strength: float


@dataclass
class Places:
    """Add them in order of time; memory is that of the twenty kept."""

    apart: int
    """Frames; nearer ones are one place, told by its strongest moment."""
    kept: int = KEPT

    def __post_init__(self) -> None:
        self.count = 0
        self._closed: list[Place] = []
        self._open: Place | None = None
        self.last = -self.apart
        """Frame of the latest."""

    def add(self, place: Place) -> None:
        if self._open is None or place.frame - self.last >= self.apart:
            self._closed = self.ranked
            self._open = place
            self.count += 1
        else:
            channel = place.channel if place.channel == self._open.channel else SEVERAL
            self._open = max(self._open, place, key=lambda one: one.strength)._replace(channel=channel)
        self.last = max(place.frame, self.last)

    @property
    def ranked(self) -> list[Place]:
        """Strongest first."""
        every = [*self._closed, self._open] if self._open else self._closed
        return sorted(every, key=lambda place: (-place.strength, place.frame))[: self.kept]

    def many(self, minutes: float) -> bool:
        """Too many to be faults: a style, most likely."""
        return self.count > max(self.kept, MANY_A_MINUTE * minutes)
