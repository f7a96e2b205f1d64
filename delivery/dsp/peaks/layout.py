"""Columns and rows of the arrays that the loops of this package fill and keep."""

from __future__ import annotations

CELLS_A_SECOND = 100
HEIGHT, AT, CHANNEL = 0, 1, 2
"""Columns of a place between samples: full scale 1.0; sixteenths of a sample from the file's start; from 1."""

EXTREME, BEFORE, ENTRY = 0, 1, 2
"""Floats of a side: its extreme so far, the sample before this block, the step up into the run that is open."""
RUN, START, COUNT, LONGEST, LISTED = 0, 1, 2, 3, 4
"""Whole numbers of a side: length and first frame of the open run; runs, the longest, and how many are listed."""
FLOATS, WHOLES, KEPT = 3, 5, 10
