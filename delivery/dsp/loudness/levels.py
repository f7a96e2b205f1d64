"""Sums, sums of squares and first moments of every channel, step by step."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import ANY_ORDER, compiled

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

SUMS = 3


@compiled(fast=ANY_ORDER)
def step_sums(planar: Array, ends: Integers, held: int, places: Array, open_sums: Array, sums: Array) -> None:
    """Sums of samples, of their squares, and of samples times their place in the step (from 0), up to each of *ends*.

    Parameters
    ----------
    planar : (channels, frames)
    ends : (steps,) from ``kweighting.step_ends``
    held : frames of the unfinished step that earlier blocks gave
    places : 0, 1, 2 ... for a whole step at least: to make floats of counters would take as long as all the rest
    open_sums : (SUMS, channels) of the step that is not finished yet, kept between blocks
    sums : (steps, SUMS, channels), the result
    """
    channels, frames = planar.shape
    for c in range(channels):
        row = planar[c]
        at = 0
        for step in range(len(ends) + 1):
            end = ends[step] if step < len(ends) else frames
            a = b = m = 0.0
            before = held if step == 0 else 0
            x = row[at:end]  # indices that cannot be negative: four times as fast
            ramp = places[: len(x)]
            for i in range(len(x)):
                a += x[i]
                b += x[i] * x[i]
                m += x[i] * ramp[i]
            open_sums[0, c] += a
            open_sums[1, c] += b
            open_sums[2, c] += m + before * a
            at = end
            if step < len(ends):
                for k in range(SUMS):
                    sums[step, k, c] = open_sums[k, c]
                    open_sums[k, c] = 0.0


def windowed_means(sums: Array, moments: Array, step_frames: float, steps: int) -> Array:
    """Means under a Hann window over each run of *steps* steps, (steps, channels) to (windows, channels).

    Sums and moments of two neighbouring steps give the sum under a triangle over both, and triangles weighted by a Hann
    window are that window, smooth from sample to sample: what sounds from 15 Hz on is 60 dB down or more, where a mean
    over a second would take a part of any period that does not end with it for an offset.
    """
    triangles = moments[:-1] / step_frames + sums[1:] - moments[1:] / step_frames
    window = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(1, steps) / steps)
    weighted = [np.convolve(column, window, "valid") for column in triangles.T]
    return np.asarray(np.stack(weighted, axis=1) / (window.sum() * step_frames))
