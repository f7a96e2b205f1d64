"""Places to listen to, ranked: neighbours are one place, the strongest are kept, all are counted.

What stands out of a song's own habit is reported; where a song does one thing throughout, that is its style.
"""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

KEPT = 20
MANY_A_MINUTE = 10
"""A fault is rare; what is found more often than that, and more often than can be listed, is how the music is made."""
SEVERAL = 0


LEAST_ABOVE_HABIT_DB = 6.0
DEVIATIONS_ABOVE_HABIT = 5.0
"""Median deviations; of normally spread strengths one in 2600 is as high."""


def is_many(count: int, minutes: float) -> bool:
    """Too many to be faults: a style, most likely."""
    return count > KEPT and count > MANY_A_MINUTE * minutes


def outstanding_from_db(strengths_db: Sequence[float], minutes: float) -> float:
    """The strength from which an event stands out: where there are many, well above the median one; else any.

    At least 6 dB and 5 times the median deviation above the median.
    """
    if not is_many(len(strengths_db), minutes):
        return -np.inf
    median = float(np.median(strengths_db))
    deviation = float(np.median(np.abs(np.asarray(strengths_db) - median)))
    return median + max(LEAST_ABOVE_HABIT_DB, DEVIATIONS_ABOVE_HABIT * deviation)


class Place(NamedTuple):
    frame: int
    channel: int
    """From 1; 0: in more than one."""
    strength: float


@dataclass
class Places:
    """Add them in order of time; memory is that of the twenty kept, and one number for each of the others."""

    apart: int
    """Frames; nearer ones are one place, told by its strongest moment."""
    kept: int = KEPT

    def __post_init__(self) -> None:
        self.count = 0
        self._closed: list[Place] = []
        self._strengths = array("d")
        """Of all closed ones."""
        self._open: Place | None = None
        self.last = -self.apart
        """Frame of the latest."""

    def add(self, place: Place) -> None:
        if self._open is None or place.frame - self.last >= self.apart:
            self._closed = self.ranked
            if self._open:
                self._strengths.append(self._open.strength)
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

    @property
    def strengths(self) -> Sequence[float]:
        """Of all places, in order of time."""
        return [*self._strengths, *([self._open.strength] if self._open else [])]

    def many(self, minutes: float) -> bool:
        """See :func:`is_many`."""
        return is_many(self.count, minutes)
