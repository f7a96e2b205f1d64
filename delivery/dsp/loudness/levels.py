"""Sums, sums of squares and first moments of every channel, per step."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.loudness._loops import step_sums as step_sums
from delivery.dsp.loudness.layout import SUMS as SUMS

Array = NDArray[np.float64]


def windowed_means(sums: Array, moments: Array, step_frames: float, steps: int) -> Array:
    """Means under a Hann window over each run of *steps* steps, (steps, channels) to (windows, channels).

    Sums and moments of two neighbouring steps give the sum under a triangle over both, and triangles weighted by a Hann
    window are that window, smooth from sample to sample: everything from 15 Hz on is 60 dB down or more, whereas a mean
    over a second would show an incomplete period as an offset.
    """
    triangles = moments[:-1] / step_frames + sums[1:] - moments[1:] / step_frames
    window = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(1, steps) / steps)
    weighted = [np.convolve(column, window, "valid") for column in triangles.T]
    return np.asarray(np.stack(weighted, axis=1) / (window.sum() * step_frames))
