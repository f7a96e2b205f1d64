"""Gaps: loud audio that stops for some milliseconds and resumes as abruptly."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.events._loops import gap_between
from delivery.dsp.events._loops import quiet_runs as quiet_runs
from delivery.dsp.events.layout import AROUND_S as AROUND_S
from delivery.dsp.events.layout import OPEN as OPEN
from delivery.dsp.events.layout import QUIET as QUIET
from delivery.dsp.events.layout import STATE as STATE
from delivery.dsp.events.ranking import Place, Places

Array = NDArray[np.float64]

NEAR_S, EDGE_S, TURN_S = 0.003, 0.0005, 0.00025
"""A cut is detected in the last and first of these, a fade of some milliseconds in the longest."""
STEP_S = 1 / 44_100
"""Steps of the waveform are measured over this time, at any rate."""
BACK_S = 0.001


def is_gap(x: Array, around: int, rate_hz: int, of_zeros: bool) -> bool:
    """True if audio stops before the quiet run in the middle of *x* and resumes after it.

    Parameters
    ----------
    x : (around + run + around,) one channel
    around : frames on either side, AROUND_S
    of_zeros : the run is of exact zeros: no room sound, so only its two sides distinguish it from an edit
    """
    near, edge, back = round(NEAR_S * rate_hz), max(round(EDGE_S * rate_hz), 1), max(round(BACK_S * rate_hz), 1)
    turn, step = max(round(TURN_S * rate_hz), 1), max(round(STEP_S * rate_hz), 1)
    return bool(gap_between(x, around, len(x) - around, near, edge, back, turn, step, of_zeros))


class Spells(Places):
    """Groups of events no longer than *apart*: a longer series counts as several.

    So audio full of gaps has many places, and a burst of gaps at one position has few.
    """

    def add(self, place: Place) -> None:
        """Add *place*; a later one of the same spell keeps the time of the first."""
        count, first = self.count, self.last
        super().add(place)
        if self.count == count:
            self.last = first
