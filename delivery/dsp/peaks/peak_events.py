"""Separate peak events of a waveform, found while it is read, and counted above every ceiling at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.peaks.between_samples import AT, HEIGHT

Array = NDArray[np.float64]

CEILINGS_DBTP = tuple(round(-rung / 10, 1) + 0.0 for rung in range(31))
"""0 to -3 dBTP."""
KEPT = 10


class Places:
    """A cell higher than both its neighbours is an event, represented by its highest point.

    So peaks less than a cell apart are always one event, and those more than two cells apart always several, for any
    ceiling.
    """

    def __init__(self) -> None:
        self._rungs = 10 ** (np.array(CEILINGS_DBTP) / 20)
        self._last = np.zeros((2, 3))
        self._highest = np.zeros((0, 3))
        self.counts = np.zeros(len(CEILINGS_DBTP), np.int64)
        self.cells_above = np.zeros(len(CEILINGS_DBTP), np.int64)
        """Cells, events or not, that reach above each ceiling."""

    def add(self, cells: Array) -> None:
        """Add the next (n, 3) cells of ``between_samples.scan``; a cell waits until the next one is known."""
        high = cells[cells[:, HEIGHT] > self._rungs[-1], HEIGHT]
        self.cells_above += (high[:, None] > self._rungs).sum(axis=0)
        rows = np.concatenate([self._last, cells])
        self._last = rows[-2:]
        before, here, after = rows[:-2, HEIGHT], rows[1:-1, HEIGHT], rows[2:, HEIGHT]
        places = rows[1:-1][(here > before) & (here >= after) & (here > self._rungs[-1])]
        if len(places):
            self.counts += (places[:, HEIGHT, None] > self._rungs).sum(axis=0)
            joined = np.concatenate([self._highest, places])
            self._highest = joined[np.lexsort((joined[:, AT], -joined[:, HEIGHT]))[:KEPT]]

    def end(self) -> None:
        """End of the file: no cell follows the last one."""
        self.add(np.zeros((1, 3)))

    @property
    def highest(self) -> list[tuple[float, float, float]]:
        """HEIGHT, AT and CHANNEL of the ten highest, in order of time."""
        return [
            (height, at, channel) for height, at, channel in self._highest[np.argsort(self._highest[:, AT])].tolist()
        ]
