"""Shares and rates of a trial as text, with 95 % intervals that allow for faults of one piece faring alike."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

import numpy as np

Z = 1.96
RESAMPLED = 2000


def wilson(share: float, of: int) -> tuple[float, float]:
    """95 % interval of a share of *of* (above 0) independent cases: Wilson, 1927."""
    middle = (share + Z * Z / (2 * of)) / (1 + Z * Z / of)
    half = Z / (1 + Z * Z / of) * sqrt(share * (1 - share) / of + Z * Z / (4 * of * of))
    return max(middle - half, 0.0), min(middle + half, 1.0)


def found(counts: Sequence[tuple[int, int]]) -> str:
    """Share found, its interval, and of how many, from (found, planted) of each piece.

    For the interval a piece counts once, however many faults it has: it is too wide rather than too narrow.
    """
    counts = [count for count in counts if count[1]]
    hits, planted = sum(hit for hit, _ in counts), sum(of for _, of in counts)
    if not planted:
        return "-"
    low, high = wilson(hits / planted, len(counts))
    return f"{100 * hits / planted:.0f} % ({100 * low:.0f} to {100 * high:.0f}) of {planted}"


def a_minute(counts: Sequence[tuple[int, float]]) -> str:
    """Places a minute and their interval, from (places, minutes) of each piece: whole pieces are drawn again."""
    table = np.array(counts, float).reshape(-1, 2)
    places, minutes = table.sum(axis=0) if len(table) else (0.0, 0.0)
    if not minutes:
        return "-"
    if not places:
        return f"0 (under {-np.log(0.05) / minutes:.2f})"
    drawn = np.random.default_rng(1).integers(0, len(table), (RESAMPLED, len(table)))
    sums = table[drawn].sum(axis=1)
    low, high = np.percentile(sums[:, 0] / sums[:, 1], (2.5, 97.5))
    return f"{places / minutes:.2f} ({low:.2f} to {high:.2f})"
