"""Sizes of the state that the loops of this package keep, and their time steps."""

from __future__ import annotations

STEPS_PER_S = 100
HISTORY, OUTPUTS = 4, 4
OPEN = HISTORY + OUTPUTS
STATE_SIZE = OPEN + 1
"""The last four samples, the last four outputs (the newest first), and the energy of the unfinished step."""
TOGETHER = 8
"""Outputs computed at once."""
DIFFERENCES = TOGETHER + 2
COLUMNS = DIFFERENCES + OUTPUTS
SUMS = 3
