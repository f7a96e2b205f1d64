"""Extremes of long rows, and how many samples pass given levels."""

from __future__ import annotations

from delivery.dsp.peaks._loops import count_above as count_above
from delivery.dsp.peaks._loops import largest as largest
from delivery.dsp.peaks._loops import lowest_and_highest as lowest_and_highest
from delivery.dsp.peaks._loops import widen as widen
from delivery.dsp.peaks._search import largest_single as largest_single
