"""Sums and sums of squares of every channel, step by step."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import ANY_ORDER, compiled

Array = NDArray[np.float64]
Integers = NDArray[np.int64]


@compiled(fast=ANY_ORDER)
def step_sums(planar: Array, ends: Integers, open_sums: Array, sums: Array) -> None:
    """Sums of samples and of their squares, up to each of *ends*.

    Parameters
    ----------
    planar : (channels, frames)
    ends : (steps,) from ``kweighting.step_ends``
    open_sums : (2, channels) of the step that is not finished yet, kept between blocks
    sums : (steps, 2, channels), the result
    """
    channels, frames = planar.shape
    for c in range(channels):
        row = planar[c]
        at = 0
        for step in range(len(ends) + 1):
            end = ends[step] if step < len(ends) else frames
            a = b = 0.0
            x = row[at:end]  # indices that cannot be negative: four times as fast
            for i in range(len(x)):
                a += x[i]
                b += x[i] * x[i]
            open_sums[0, c] += a
            open_sums[1, c] += b
            at = end
            if step < len(ends):
                sums[step, 0, c], sums[step, 1, c] = open_sums[0, c], open_sums[1, c]
                open_sums[0, c] = open_sums[1, c] = 0.0
