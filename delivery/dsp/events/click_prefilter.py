"""Prefilter for clicks: a cheap test of every sample, so that the expensive one is needed at few positions only.

Blocks are whitened: the residual of linear prediction of the differences, with coefficients from the two neighbouring
blocks. A fault of a few samples then exceeds the residual of music that is louder than the fault. Fourth powers
distinguish one large sample from many medium ones, and sum without a branch. Source of the method: S. V. Vaseghi,
detection of impulsive noise by inverse filtering, as described in textbooks; the predictor is Levinson's and Durbin's.
"""

from __future__ import annotations

from delivery.dsp.events._roughness import rough_places as rough_places
from delivery.dsp.events._roughness import roughness as roughness
from delivery.dsp.events.layout import BLOCK as BLOCK
from delivery.dsp.events.layout import MARGIN as MARGIN
from delivery.dsp.events.layout import PER_BLOCK as PER_BLOCK
from delivery.dsp.events.layout import PRODUCTS as PRODUCTS
from delivery.dsp.events.layout import STRETCH as STRETCH
from delivery.dsp.events.layout import WHITENING_ORDER


def lead(times: int) -> int:
    """Frames before a piece: the block that is whitened first, and the reach of its filter."""
    return BLOCK * times + WHITENING_ORDER + 1
