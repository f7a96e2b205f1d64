"""Rows, columns, lengths and limits that the loops of this package share with their callers."""

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
"""Stretches on either side in which similar ones make a train: a low sawtooth has a jump every 30 ms."""
MARGIN = TRAIN + TRAIN_NEIGHBOURS

ORDER = 12
UNKNOWN = 6
"""Samples replaced at a time: one more than a click may have, since it may lie between samples."""
HALF = 512
"""Frames on either side at 44.1 and 48 kHz."""
NEAR = 12
"""Frames on either side of the examined sample that are left out of the predictor's training; ORDER more after it."""
BACK, REACH = UNKNOWN + ORDER, ORDER + UNKNOWN + NEAR
"""Frames before and after its peak in which a fault leaves a residual; the predictor may leave a higher one later."""
PEAK, SIGMA, BACKGROUND_PEAK, NEARBY_PEAK, RESIDUAL_PEAK, EXPLAINED, SIDE_MISMATCH = 0, 1, 2, 3, 4, 5, 6
FLAT_SAMPLES, DEPARTURE, AT, OVER_TOP = 7, 8, 9, 10
"""Columns of what ``_prediction.examine`` finds; described there."""
FINDINGS = 11

OPEN, ZEROS, LONGEST = 0, 1, 2
"""State of a channel: first frame of the open quiet run (-1: none), exact zeros at its end, and the most in a row."""
STATE = 3
QUIET = 10 ** (-50 / 20)
LOUD = 10 ** (-38 / 20)
AROUND_S = 0.040
"""The sound is loud within this time before and after a gap."""

FIRST, LAST, PAUSE, PAUSE_AT = 0, 1, 2, 3
PLACES = 4
LENGTH, BEGINS = 0, 1
BEFORE, BEHIND = 0, 1
"""Energies before the first and after the last frame above the threshold."""

DIP_BEGINS, DIP_ENDS, DIP_FALLS, DIP_RISES = 0, 1, 2, 3
"""Of a dip, in milliseconds: index of its first and of the one after its last, lengths of its edges."""
DIP_DEPTH, DIP_CHANGE, DIP_EARLIER, DIP_LATER, DIP_SLOPE = 4, 6, 8, 10, 12
"""Two columns each, of the differences and of the samples, in dB: depth, level after it over the one before, the last
10 ms before it over those before them, the first 10 ms after it over those after them, first third over last third."""
DIP = 14
DIP_BEFORE, DIP_AFTER, LONGEST_DIP = 48, 310, 260
"""In milliseconds: the sound needed before and after the start of a dip, and the longest dip."""
AGAIN_AT, AGAIN_FRAMES, AGAIN_LAG, AGAIN_SEAM = 0, 1, 2, 3
AGAIN = 4
LONGEST_LAG = 4096
"""Frames between a buffer and its copy, and of the longest copy."""
SLOTS = 8192

EDGE_FRAMES = 512
"""Samples examined on each side of a cut between songs."""
