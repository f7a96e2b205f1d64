"""The samples of the quietest stretch of a sound, kept while it goes by."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.blocks.stretches import Lately

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

SURELY_QUIETER = 1 - 1e-9
"""Sums differ in their last digits by how the sound was cut; of equal stretches the first counts."""


class Quietest:
    """The quietest *steps* neighbouring steps, none of which is digital silence; memory is two of them and a block."""

    def __init__(self, steps: int, longest_step: int) -> None:
        self._steps = steps
        self._lately = Lately((steps + 1) * longest_step)
        self._begins = [0]
        """First frames of the steps that a later stretch may begin with, and of the one that is open."""
        self._energies: list[float] = []
        self._least = math.inf
        self.samples: Array | None = None
        """(channels, frames); None: there was no such stretch."""

    def append(self, planar: Array, ends: Integers, energies: Array) -> None:
        """Take the next (channels, frames), where whole steps end in it (absolute frames), and their energies."""
        self._lately.append(planar)
        best = None
        for end, energy in zip(ends.tolist(), energies.tolist(), strict=True):
            self._begins.append(end)
            self._energies.append(energy)
            if len(self._energies) < self._steps:
                continue
            whole = sum(self._energies) if min(self._energies) > 0 else math.inf
            if whole < SURELY_QUIETER * self._least:
                self._least, best = whole, (self._begins[0], end)
            del self._begins[0], self._energies[0]
        if best:
            rows = [self._lately.channel(channel, *best) for channel in range(len(planar))]
            self.samples = np.array([row for row in rows if row is not None])
