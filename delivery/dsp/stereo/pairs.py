"""Two channels compared: sums of their squares, of their sum and of their difference, per step."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.blocks.series import Series
from delivery.dsp.loudness.gating import sliding_sums
from delivery.dsp.stereo._loops import pair_sums as pair_sums
from delivery.dsp.stereo.layout import DIFFERENCE as DIFFERENCE
from delivery.dsp.stereo.layout import LEFT as LEFT
from delivery.dsp.stereo.layout import RIGHT as RIGHT
from delivery.dsp.stereo.layout import SUM as SUM
from delivery.dsp.stereo.layout import SUMS as SUMS

Array = NDArray[np.float64]

BATCH_STEPS = 1024
"""Steps are processed in batches: windows are many and small."""


def correlation(sums: Array) -> Array:
    """(..., SUMS) to (...): sum of products over the root of both energies, -1 to 1; 0 if a channel is silent."""
    product = (sums[..., SUM] - sums[..., DIFFERENCE]) / 4
    energies = np.sqrt(sums[..., LEFT] * sums[..., RIGHT])
    return np.asarray(np.clip(np.divide(product, energies, out=np.zeros_like(product), where=energies > 0), -1.0, 1.0))


class LowestCorrelation:
    """The lowest correlation over windows of neighbouring steps, found while they are added.

    Windows whose mean square is not above *quiet* are ignored: they would measure the noise floor.
    """

    def __init__(self, window_steps: int, step_frames: float, quiet: float) -> None:
        self._window = window_steps
        self._least = 2 * quiet * window_steps * step_frames
        self._waiting = Series(SUMS)
        self._passed = 0
        self._lowest, self._at = math.inf, 0
        self._below_zero = 0

    def append(self, sums: Array) -> None:
        """Take the next (steps, SUMS) from :func:`pair_sums`."""
        self._waiting.append(sums)
        if len(self._waiting) >= BATCH_STEPS:
            self._look()

    def _look(self) -> None:
        steps = self._waiting.rows
        windows = np.stack([sliding_sums(column, self._window) for column in steps.T], axis=-1)
        loud = np.flatnonzero(windows[:, LEFT] + windows[:, RIGHT] > self._least)
        if len(loud):
            correlations = correlation(windows[loud])
            self._below_zero += int((correlations < 0).sum())
            least = int(correlations.argmin())
            if correlations[least] < self._lowest:
                self._lowest, self._at = float(correlations[least]), self._passed + int(loud[least])
        self._passed += len(windows)
        self._waiting = Series(SUMS)
        self._waiting.append(steps[len(windows) :])

    @property
    def windows(self) -> int:
        """Number of whole windows."""
        return self._passed + max(len(self._waiting) - self._window + 1, 0)

    def result(self) -> tuple[float, int] | None:
        """The lowest correlation and the first step of its window; None if no window was loud enough."""
        if self.windows > self._passed:
            self._look()
        return None if math.isinf(self._lowest) else (self._lowest, self._at)

    def below_zero(self) -> int:
        """Number of sufficiently loud windows with a correlation below zero; after :meth:`result`."""
        return self._below_zero
