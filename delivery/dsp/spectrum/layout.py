"""Sizes that the loops of this package share with their callers."""

from __future__ import annotations

BINS_A_BAND = 16
"""Narrow bands of about 90 Hz, in which single windows are compared."""
INFRASONIC_BINS = 4
"""Content below 20 Hz, above all a DC offset, is left out of every spectrum."""
