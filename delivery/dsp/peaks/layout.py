"""Columns and rows of the arrays that the loops of this package fill and keep."""

from __future__ import annotations

CELLS_A_SECOND = 100
HEIGHT, AT, CHANNEL = 0, 1, 2
"""Columns of a place between samples: height (1.0: full scale), sixteenths of a sample, channel (from 1)."""

EXTREME, BEFORE, ENTRY = 0, 1, 2
"""Floats of a side: its extreme so far, the sample before this block, the step into the open run."""
RUN, START, COUNT, LONGEST, LISTED = 0, 1, 2, 3, 4
"""Integers of a side: length and first frame of the open run; number of runs, the longest, and the number listed."""
TOP, BASE, NEAR_ENTRY = 3, 4, 5
"""Floats of the same side for nearly equal samples: its extreme, the extreme since which runs are counted, and how far
the sample before the open run lies below the extreme."""
NEAR_RUN, NEAR_START, NEAR_COUNT, NEAR_LONGEST, NEAR_LISTED = 5, 6, 7, 8, 9
"""As RUN to LISTED, of runs of nearly equal samples."""
FLOATS, WHOLES, KEPT = 6, 10, 10

SPAN = 512
"""Samples whose extremes are found once for all who look for high ones."""
