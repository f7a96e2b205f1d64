"""Rank events: neighbours are merged, the strongest are kept, all are counted.

Events that exceed a song's usual level are reported; an event that occurs throughout a song is its style.
"""

from __future__ import annotations

from array import array
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from delivery.dsp.median import median

KEPT = 20
MANY_A_MINUTE = 10
"""A fault is rare; events more frequent than this, and too many to be listed, are part of the music."""
SEVERAL = 0


LEAST_ABOVE_HABIT_DB = 6.0
DEVIATIONS_ABOVE_HABIT = 5.0
"""Multiple of the median deviation; for normally distributed strengths one in 2600 is as high."""


def is_many(count: int, minutes: float) -> bool:
    """True if there are too many to be faults: most likely a style."""
    return count > KEPT and count > MANY_A_MINUTE * minutes


def outstanding_from_db(strengths_db: Sequence[float], minutes: float) -> float:
    """Strength from which an event stands out: if there are many, well above the median one; else any.

    At least 6 dB and 5 times the median deviation above the median.
    """
    if not is_many(len(strengths_db), minutes):
        return -np.inf
    usual_db = median(strengths_db)
    deviation_db = median(np.abs(np.asarray(strengths_db) - usual_db))
    return usual_db + max(LEAST_ABOVE_HABIT_DB, DEVIATIONS_ABOVE_HABIT * deviation_db)


class Place(NamedTuple):
    """An event: frame, channel and strength."""

    frame: int
    channel: int
    """From 1; 0: in more than one."""
    strength: float


@dataclass
class Places:
    """Ranked events, added in order of time; holds the twenty kept, and one number for each of the others."""

    apart: int
    """Frames; nearer events are merged and represented by the strongest."""
    kept: int = KEPT

    def __post_init__(self) -> None:
        self.count = 0
        self._closed: list[Place] = []
        self._strengths = array("d")
        """Count of all closed ones."""
        self._open: Place | None = None
        self.last = -self.apart
        """Frame of the latest."""

    def add(self, place: Place) -> None:
        """Add *place*, in order of time; near ones count as one."""
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
        """Strengths of all events, in order of time."""
        return [*self._strengths, *([self._open.strength] if self._open else [])]

    def many(self, minutes: float) -> bool:
        """See :func:`is_many`."""
        return is_many(self.count, minutes)
