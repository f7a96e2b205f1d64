"""Sizes that the loops of this package share with what uses them."""

from __future__ import annotations

BINS_A_BAND = 16
"""Narrow bands of about 90 Hz, in which single windows are compared."""
INFRASONIC_BINS = 4
"""What lies below 20 Hz, a constant above all, is left out of every spectrum."""
