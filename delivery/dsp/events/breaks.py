"""Places where the sound is softer for some milliseconds, where a buffer comes twice, and where one value is held."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.events._breaks import dips as dips
from delivery.dsp.events._breaks import milliseconds as milliseconds
from delivery.dsp.events._copies import holds as holds
from delivery.dsp.events._copies import repeats as repeats
from delivery.dsp.events.layout import AGAIN as AGAIN
from delivery.dsp.events.layout import AGAIN_AT as AGAIN_AT
from delivery.dsp.events.layout import AGAIN_FRAMES as AGAIN_FRAMES
from delivery.dsp.events.layout import DIP as DIP
from delivery.dsp.events.layout import DIP_AFTER as DIP_AFTER
from delivery.dsp.events.layout import DIP_BEFORE as DIP_BEFORE
from delivery.dsp.events.layout import DIP_BEGINS as DIP_BEGINS
from delivery.dsp.events.layout import (
    DIP_CHANGE,
    DIP_DEPTH,
    DIP_EARLIER,
    DIP_ENDS,
    DIP_FALLS,
    DIP_LATER,
    DIP_RISES,
    DIP_SLOPE,
)
from delivery.dsp.events.layout import LONGEST_LAG as LONGEST_LAG
from delivery.dsp.events.layout import SLOTS as SLOTS

Array = NDArray[np.float64]


DEEP_DB = 30.0
"""Music hardly ever falls so far and returns within a quarter of a second; what is in the dip is then not looked at."""
SHORT_MS = 5
MOST_DEPTH_DB = 45.0


def dip_scores(rows: Array) -> Array:
    """Depth of each dip, less what speaks for music, in dB: (n, DIP) to (n,).

    A change of gain takes treble and bass down alike, is steady while it lasts, and leaves the sound as it was, without
    a new stroke. Weights were chosen by hand on planted dips and on music without any.
    """
    depth_db = rows[:, DIP_DEPTH : DIP_DEPTH + 2].min(axis=1)
    unlike = sum(
        weight * np.maximum(rows[:, column] * sign - free_db, 0)
        for column, weight, free_db, signs in _UNLIKE
        for sign in signs
    )
    bands_db = np.abs(rows[:, DIP_DEPTH] - rows[:, DIP_DEPTH + 1])
    unsteady = 0.4 * np.maximum(bands_db - 1, 0) + sum(
        0.3 * np.maximum(np.abs(rows[:, DIP_SLOPE + kind]) - free_db, 0) for kind, free_db in enumerate((3, 4))
    )
    short = np.where(_core_ms(rows) < SHORT_MS, 6.0, 0.0)
    fall = 0.3 * rows[:, DIP_FALLS]
    scores: Array = (
        np.minimum(depth_db, MOST_DEPTH_DB) - unlike - fall - np.where(depth_db < DEEP_DB, unsteady + short, 0)
    )
    return scores


def dip_depths(rows: Array) -> Array:
    """Depth of each, in dB, in the deeper of samples and differences: (n, DIP) to (n,)."""
    depths: Array = rows[:, DIP_DEPTH : DIP_DEPTH + 2].max(axis=1)
    return depths


def _core_ms(rows: Array) -> Array:
    core: Array = rows[:, DIP_ENDS] - rows[:, DIP_RISES] - rows[:, DIP_BEGINS] - rows[:, DIP_FALLS]
    return core


BOTH, UPWARDS = (1, -1), (1,)
_UNLIKE = (
    (DIP_CHANGE, 0.3, 2.0, BOTH),
    (DIP_CHANGE + 1, 0.3, 2.0, BOTH),
    (DIP_EARLIER, 0.3, 2.0, BOTH),
    (DIP_EARLIER + 1, 0.4, 2.0, BOTH),
    (DIP_LATER, 0.8, 0.5, UPWARDS),
    (DIP_LATER + 1, 0.2, 1.0, UPWARDS),
)
"""Column, weight, free dB, and the signs that count."""
