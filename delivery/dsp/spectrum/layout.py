"""Sizes that the loops of this package share with their callers."""

from __future__ import annotations

BINS_A_BAND = 16
"""Narrow bands of about 90 Hz, in which single windows are compared."""
INFRASONIC_BINS = 4
"""Content below 20 Hz, above all a DC offset, is left out of every spectrum."""
SHORT_SIZE = 1024
"""Frames of a short window: a power of 4, for the steps of its transform."""
SHORT_LANES = 8
"""Complex transforms side by side; each is of two windows."""
