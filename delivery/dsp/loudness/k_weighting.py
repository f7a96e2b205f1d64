"""The power that K-weighting leaves, in steps of 10 ms (ITU-R BS.1770-5, Annex 1; filters: ``k_weighting_design``)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.loudness._loops import weighted_energy as weighted_energy
from delivery.dsp.loudness._loops import window_powers as window_powers
from delivery.dsp.loudness.layout import STATE_SIZE as STATE_SIZE
from delivery.dsp.loudness.layout import STEPS_PER_S as STEPS_PER_S


def step_ends(first: int, frames: int, rate_hz: int, steps_per_s: int = STEPS_PER_S) -> NDArray[np.int64]:
    """Ends of steps in a block of *frames* that begins at frame *first*: counted from the block's start, 1..frames.

    Step k ends at frame round(k * rate / steps_per_s); steps of odd rates differ by one frame.
    """
    half = steps_per_s // 2
    begin = _steps_ended(first, rate_hz, steps_per_s) + 1
    end = _steps_ended(first + frames, rate_hz, steps_per_s)
    before = half - first * steps_per_s
    ends = np.arange(begin * rate_hz + before, end * rate_hz + before + 1, rate_hz, dtype=np.int64)
    ends //= steps_per_s
    return ends


def _steps_ended(frame: int, rate_hz: int, steps_per_s: int) -> int:
    """Number of steps that end at or before *frame*: the most for which k * rate + half a step is still below the
    next frame.
    """
    return ((frame + 1) * steps_per_s - steps_per_s // 2 - 1) // rate_hz
