"""Where sound is rough for a moment: a cheap look at every sample, so that a dear one is only needed at few places.

Blocks are whitened: what linear prediction of the differences, learnt from the two blocks beside it, leaves of a block.
A fault of a few samples then stands out of music that is louder than itself. Fourth powers tell a single large sample
from many middling ones, and add up without a branch. Source of the method: S. V. Vaseghi, detection of impulsive noise
by inverse filtering, as textbooks tell it; the predictor is Levinson's and Durbin's.
"""

from __future__ import annotations

from delivery.dsp.events._clicks import rough_places as rough_places
from delivery.dsp.events._clicks import roughness as roughness
from delivery.dsp.events.layout import BLOCK as BLOCK
from delivery.dsp.events.layout import MARGIN as MARGIN
from delivery.dsp.events.layout import PER_BLOCK as PER_BLOCK
from delivery.dsp.events.layout import PRODUCTS as PRODUCTS
from delivery.dsp.events.layout import STRETCH as STRETCH
from delivery.dsp.events.layout import WHITENING_ORDER as WHITENING_ORDER


def lead(times: int) -> int:
    """Frames that lead a piece: the block that is whitened first, and what its filter reaches back to."""
    return BLOCK * times + WHITENING_ORDER + 1
