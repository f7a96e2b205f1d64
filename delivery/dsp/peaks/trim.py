"""The reduction in level that keeps peaks below a ceiling."""

from __future__ import annotations

import math
from collections.abc import Callable

STEP_DB = 0.05
"""The trim found exceeds the largest insufficient one by at most this."""
MOST_STEPS = 4
"""Each step equals the remaining excess; an encoder whose peaks do not follow at all is given up."""
HUNDREDTHS = 100
"""Levels are printed to 0.01 dB; a trim is rounded up, so that it is never too small."""


def trim_db(peak_db: float, ceiling_db: float = 0.0) -> float:
    """Gain in dB, 0 or less, in steps of 0.01, that brings a peak of *peak_db* to *ceiling_db* or just below it."""
    over = round((peak_db - ceiling_db) * HUNDREDTHS, 6)  # 0.07 * 100 is a little more than 7
    return -max(0, math.ceil(over)) / HUNDREDTHS


def least_trim(peak_at: Callable[[float], float], peak_db: float) -> tuple[float, float] | None:
    """Smallest reduction in dB, within ``STEP_DB``, at which a peak does not exceed 0 dB, and the peak then; None if
    none is found.

    Encoders do not follow a gain exactly: first reduce by the excess until it is enough, then bisect. A step is 0.01 dB
    at least, also where the excess is a rounding of the last digit.

    Parameters
    ----------
    peak_at : the peak in dB at a gain, computed by a trial at each call
    peak_db : the peak at a gain of 0
    """
    if peak_db <= 0:
        return 0.0, peak_db
    short_db, enough = 0.0, (0.0, peak_db)
    for _ in range(MOST_STEPS):
        gain_db = round(enough[0] + min(trim_db(enough[1]), -1 / HUNDREDTHS), 2)
        enough = gain_db, peak_at(gain_db)
        if enough[1] <= 0:
            break
        short_db = gain_db
    else:
        return None
    next_db = enough[0] + STEP_DB  # usually the first step was already minimal
    while round(short_db - enough[0], 2) > STEP_DB:
        gain_db = round(next_db, 2)
        found_db = peak_at(gain_db)
        if found_db <= 0:
            enough = gain_db, found_db
        else:
            short_db = gain_db
        next_db = (enough[0] + short_db) / 2
    return enough
