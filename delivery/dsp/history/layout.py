"""Lengths and limits that the loops of this package share with their callers."""

from __future__ import annotations

NEARLY = 0.05
"""Largest real part, relative to the magnitude, that counts as zero."""
FRAME = 1024
"""Coefficients, and samples between frames, of AAC and of Vorbis' long blocks."""
TERMS = 3
GROUP = 12
SOUNDS = 8
"""Sounds examined side by side: one for each lane of a vector."""
TILE = 64
"""Places of all these sounds processed together, so that their numbers stay in the L1 cache."""
LINES = (5, 13)
"""Of the 18 coefficients of an MP3 subband, those its neighbours do not affect (alias reduction is below -28 dB)."""
FIRST_LINE, LAST_LINE = LINES
SPAN = 36
STRIDE = 32
PIECE = 1024

REACH = 4096
"""Largest magnitude, in steps of the file's bit depth, of the samples in the histogram, where a common step shows."""
QUIET_PIECE = 256
QUIET_STEPS = 8.0
BARE = 0.4
"""Mean square of the second difference, in squared steps. Triangular dither gives 1.5 whatever the sound, and rounding
alone 0.5 if its error is white; less means an error correlated with the sound. Rectangular dither vanishes with the
sound and counts as none."""
