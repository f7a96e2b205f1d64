"""How much lower a sound must be for its peaks to keep under a ceiling."""

from __future__ import annotations

import math

HUNDREDTHS = 100
"""Levels are told to the hundredth of a decibel; a trim is rounded so that it never falls short."""


def trim_db(peak_db: float, ceiling_db: float = 0.0) -> float:
    """Gain in dB, 0 or less, in whole hundredths, that brings a peak of *peak_db* to *ceiling_db* or just under it."""
    over = round((peak_db - ceiling_db) * HUNDREDTHS, 6)  # 0.07 * 100 is a little more than 7
    return -max(0, math.ceil(over)) / HUNDREDTHS
