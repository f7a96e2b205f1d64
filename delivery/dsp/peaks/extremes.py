"""Extremes of long rows, and how many samples pass given levels."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.peaks._loops import count_above as count_above
from delivery.dsp.peaks._loops import largest as largest
from delivery.dsp.peaks._loops import lowest_and_highest as lowest_and_highest
from delivery.dsp.peaks._loops import span_extremes
from delivery.dsp.peaks._search import largest_single as largest_single
from delivery.dsp.peaks.layout import SPAN

Array = NDArray[np.float64]


class Extremes(NamedTuple):
    """Lowest and highest sample of each SPAN frames, (channels, spans); the last span may be shorter."""

    lows: Array
    highs: Array

    def peaks(self) -> Array:
        """Largest magnitude in each channel; 0 if there are no samples."""
        peaks: Array = np.maximum(self.highs.max(axis=1, initial=0.0), -self.lows.min(axis=1, initial=0.0))
        return peaks


def extremes_of(planar: Array) -> Extremes:
    """Of (channels, frames) samples."""
    shape = len(planar), -(-planar.shape[1] // SPAN)
    found = Extremes(np.empty(shape), np.empty(shape))
    span_extremes(planar, *found)
    return found
