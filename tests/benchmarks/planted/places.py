"""Common parts of detector tests: plant events in one piece, run the meters, compare the places found."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Sequence
from functools import lru_cache
from typing import Any, ClassVar

import numpy as np

from delivery.meters import measure_blocks
from tests.benchmarks.planted.trial import Array, Material, Score, found_near, loud_spots
from tests.meters.memory import cut, facts

MANY = "many, style likely"
A_PIECE = 6
"""Faults planted in one piece."""
WITHIN_S = 0.015


def figures_of(sound: Array, rate_hz: int, names: Sequence[str]) -> dict[str, Any]:
    """Values of these figures, as of a 24-bit file."""
    found = measure_blocks(facts(sound, rate_hz, "pcm", 24), cut(sound, 65_536), only=names)
    return {name: found.value(name) for name in names}


def rounded(sound: Array) -> Array:
    """To 24 bits, and clipped."""
    whole: Array = np.rint(sound * 2**23).clip(-(2**23), 2**23 - 1) / 2**23
    return whole


class Places(ABC):
    """A detector of places; a subclass states what it plants and which figures show it."""

    per_minute: ClassVar[bool] = True
    called: ClassVar[str]
    """The figure whose places are called what they are; '<called>_many' is the word that declines."""
    also: ClassVar[tuple[str, ...]] = ()
    """Other lists in which they are found too, under another name."""

    @abstractmethod
    def put(self, sound: Array, at: Sequence[int], material: Material, strength: str) -> tuple[Array, list[int]]:
        """*sound* with faults near the frames *at*, and where they are in it now; fewer where they cannot be."""

    def plant(self, material: Material, strength: str) -> Score | None:
        rng = material.rng(type(self).__name__, strength)
        spots = loud_spots(material, rng, A_PIECE)
        sound, at = self.put(material.sound.copy(), spots, material, strength)
        if not at or self.alarms(material) == MANY:
            return None  # a style it declines to look into; the second table counts those
        found = self._reported(rounded(sound), material.rate_hz)
        named = list(found[self.called + "_at_s"] or ())
        every = [place for name in (self.called, *self.also) for place in found[name + "_at_s"] or ()]
        count = found_near(every, at, material.rate_hz, WITHIN_S)
        return Score(len(at), count, found_near(named, at, material.rate_hz, WITHIN_S))

    @lru_cache(maxsize=2)  # noqa: B019  every strength asks for that of the same piece
    def alarms(self, material: Material) -> int | str | None:
        found = self._reported(material.sound, material.rate_hz)
        return MANY if found[self.called + "_many"] else int(found[self.called] or 0)

    def _reported(self, sound: Array, rate_hz: int) -> dict[str, Any]:
        every = (self.called, *self.also)
        return figures_of(sound, rate_hz, [f"{name}{end}" for name in every for end in ("", "_at_s", "_many")])
