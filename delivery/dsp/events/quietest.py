"""The samples of the quietest segment of the audio, found while it is read."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.blocks.stretches import Lately

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

SURELY_QUIETER = 1 - 1e-9
"""Sums differ in their last digits by block boundaries; of equal segments the first is kept."""


class Quietest:
    """The quietest *steps* neighbouring steps, none of which is digital silence; holds two of them and a block."""

    def __init__(self, steps: int, longest_step: int) -> None:
        self._steps = steps
        self._lately = Lately((steps + 1) * longest_step)
        self._begins = np.zeros(1, np.int64)
        """First frames of the steps at which a later segment may begin, and of the open step."""
        self._energies = np.zeros(0)
        self._least = math.inf
        self.samples: Array | None = None
        """(channels, frames); None: there was no such segment."""

    def append(self, planar: Array, ends: Integers, energies: Array) -> None:
        """Append the next (channels, frames), the ends of whole steps in it (absolute frames), and their energies."""
        self._lately.append(planar)
        begins, steps = np.concatenate([self._begins, ends]), np.concatenate([self._energies, energies])
        best = None
        for k, whole in self._quieter(steps):
            if whole < SURELY_QUIETER * self._least:
                self._least, best = whole, (int(begins[k]), int(begins[k + self._steps]))
        self._begins, self._energies = begins[-self._steps :], steps[max(len(steps) - self._steps + 1, 0) :]
        if best:
            rows = [self._lately.channel(channel, *best) for channel in range(len(planar))]
            self.samples = np.array([row for row in rows if row is not None])

    def _quieter(self, energies: Array) -> Iterator[tuple[int, float]]:
        """Number and energy of each segment that may be quieter than the quietest so far."""
        count = len(energies) - self._steps + 1
        if count < 1 or energies.min() * self._steps > self._least:
            return
        wholes = energies[:count].copy()
        for k in range(1, self._steps):
            wholes += energies[k : k + count]
        quieter = wholes < SURELY_QUIETER * self._least
        if quieter.any():
            for k in np.flatnonzero(quieter).tolist():
                if energies[k : k + self._steps].min() > 0:
                    yield k, float(wholes[k])
