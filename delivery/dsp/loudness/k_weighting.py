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
    begin = _steps_ended(first, rate_hz, steps_per_s) + 1
    end = _steps_ended(first + frames, rate_hz, steps_per_s)
    k = np.arange(begin, end + 1, dtype=np.int64)
    return (k * rate_hz + steps_per_s // 2) // steps_per_s - first


def _steps_ended(frame: int, rate_hz: int, steps_per_s: int) -> int:
    """Number of steps that end at or before *frame*."""
    k = frame * steps_per_s // rate_hz + 1
    while (k * rate_hz + steps_per_s // 2) // steps_per_s > frame:
        k -= 1
    return k
