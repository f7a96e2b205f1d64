"""Sizes of the state that the loops of this package keep, and their time steps."""

from __future__ import annotations

STEPS_PER_S = 100
HISTORY = 4
STATE_SIZE = HISTORY + 5
"""The last four samples, the last two of each filter's output, and the energy of the unfinished step."""
SUMS = 3
