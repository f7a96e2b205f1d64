"""Lengths and limits that the loops of this package share with what uses them."""

from __future__ import annotations

NEARLY = 0.05
"""Largest real part of what counts as zero, against the whole."""
FRAME = 1024
"""Coefficients, and samples between frames, of AAC and of Vorbis' long blocks."""
TERMS = 3
GROUP = 12
TILE = 64
"""Places looked at together, so that their numbers stay near the processor."""
LINES = (5, 13)
"""Of 18 coefficients in a subband of MP3 those its neighbours do not reach into (alias reduction is below -28 dB)."""
FIRST_LINE, LAST_LINE = LINES
SPAN = 36
STRIDE = 32
PIECE = 1024

REACH = 4096
"""Small samples are those up to so many steps of the word: the common step shows there without being known exactly."""
QUIET_PIECE = 256
QUIET_STEPS = 8.0
PROBES = 32
BARE = 0.4
"""Mean square of the second difference, in squared steps. Triangular dither gives 1.5 whatever the sound, and rounding
alone 0.5 when its error is white; less means an error that hangs together with the sound. Rectangular dither dies out
with the sound, and is taken for none."""
