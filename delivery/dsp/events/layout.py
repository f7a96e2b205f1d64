"""Rows, columns, lengths and limits that the loops of this package share with what uses them."""

from __future__ import annotations

BLOCK = 1024
"""Frames at 44.1 and 48 kHz, 23 ms; at higher rates a predictor learns from as many in the middle of a longer block."""
STRETCH = 32
"""Frames at 44.1 and 48 kHz."""
PER_BLOCK = BLOCK // STRETCH
WHITENING_ORDER = 8
PRODUCTS = WHITENING_ORDER + 1
TRAIN_NEIGHBOURS = 6
TRAIN = 68
"""Stretches on either side in which others like it make it one of a train: a low sawtooth has a jump every 30 ms."""
MARGIN = TRAIN + TRAIN_NEIGHBOURS

ORDER = 12
UNKNOWN = 6
"""Samples that are sought: one more than a click may have, for it may lie between them."""
HALF = 512
"""Frames on either side at 44.1 and 48 kHz."""
NEAR = 12
"""Frames on either side of the moment that the prediction does not learn from; behind it, ORDER more."""
BACK, REACH = UNKNOWN + ORDER, ORDER + UNKNOWN + NEAR
"""Frames before and behind its peak where a fault leaves something: what the predictor makes of it may stand higher."""
PEAK, SIGMA, FAR, RING, LEFT, EXPLAINED, OTHERNESS, FLAT, DEPARTS, AT = 0, 1, 2, 3, 4, 5, 6, 7, 8, 9
FINDINGS = 10

OPEN, ZEROS, LONGEST = 0, 1, 2
"""State of a channel: first frame of the open quiet run (-1: none), exact zeros at its end, and the most in a row."""
STATE = 3
QUIET = 10 ** (-50 / 20)
LOUD = 10 ** (-38 / 20)
AROUND_S = 0.040
"""Before and behind a gap the sound is loud within this time."""

FIRST, LAST, PAUSE, PAUSE_AT = 0, 1, 2, 3
PLACES = 4
LENGTH, BEGINS = 0, 1
BEFORE, BEHIND = 0, 1
"""Energies of what lies before the first and behind the last frame that is above."""
