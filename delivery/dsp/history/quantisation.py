"""Common quantisation steps, as left by a lower bit depth after a level change; and undithered truncation."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.history._loops import count_small as count_small
from delivery.dsp.history._loops import quiet_pieces as quiet_pieces
from delivery.dsp.history.layout import QUIET_PIECE as QUIET_PIECE
from delivery.dsp.history.layout import REACH as REACH

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

COARSEST, FINEST = 1100.0, 8.0
COMB, BETWEEN = 0.8, 0.5
"""How closely samples must fit a step, and miss all coarser ones (of 1)."""
FEWEST = 200
ROUNDED = 1.51
"""Steps of the bit depth by which rounding, with at most triangular dither, moves a sample."""
FITTING = 0.95
"""Share of the samples that must fit the steps; fades move some off them."""


def common_step(histogram: Integers, spread: Array) -> float | None:
    """Step of which nearly all samples are integer multiples except for rounding; 1 if there is none of at least
    FINEST.

    None if unknown: hardly any samples near zero.

    Parameters
    ----------
    histogram : (2 * REACH + 1,) how often -REACH to REACH occur, in steps of the word
    spread : samples from all over the file, in steps of the word
    """
    total = int(histogram.sum())
    if total < FEWEST:
        return None
    size = 4 * REACH
    agreed = np.abs(np.fft.rfft(histogram, size)) / total
    first, last = int(size / COARSEST), int(size / FINEST)
    apart = np.minimum.accumulate(agreed)
    peaks = np.flatnonzero((agreed[first:last] >= COMB) & (apart[first:last] <= BETWEEN))
    if not len(peaks):
        return 1.0
    start = first + int(peaks[0])
    hill = agreed[start : start + max(start // 4, 2)]
    small = np.repeat(np.arange(-REACH, REACH + 1), histogram).astype(np.float64)
    return _refined(size / (start + int(np.argmax(hill))), np.concatenate([small, spread]))


def _refined(step: float, samples: Array) -> float:
    """Fitted to ever larger samples; a wrong step would soon miscount its multiples."""
    sizes = np.abs(samples)
    reach = 4.0 * step
    while True:
        chosen = samples[sizes <= reach]
        multiples = np.rint(chosen / step)
        on = np.abs(chosen - step * multiples) <= max(0.1 * step, ROUNDED)
        if multiples[on].any():
            step = float(chosen[on] @ multiples[on] / (multiples[on] @ multiples[on]))
        if reach >= sizes.max():
            break
        reach *= 1.5
    off = np.abs(samples - step * np.rint(samples / step))
    return step if step >= FINEST and np.mean(off <= ROUNDED) >= FITTING else 1.0
