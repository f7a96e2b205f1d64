"""A stretch of a master as a picture needs it: its samples, or where these are too many the extremes of each column."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from delivery.audio.blocks import open_sound

MOST_S = 60.0
"""Longest stretch that is read: a longer one is drawn well enough from the figures of the track."""
MOST_COLUMNS = 4000
SAMPLES_PER_COLUMN = 2
"""Up to so many samples for each column are given themselves."""


@dataclass(frozen=True, slots=True)
class Detail:
    """A stretch of sound. Full scale is 1.0; values have eight decimals, a hundredth of a step of 24 bits."""

    rate_hz: int
    first: int
    """Number of the first sample of the stretch, from 0."""
    per_column: int
    """Samples in each column; 1: `high` has the samples themselves, and `low` nothing."""
    high: tuple[tuple[float, ...], ...]
    """For each channel; with columns, the largest sample of each."""
    low: tuple[tuple[float, ...], ...]


def detail(path: Path, from_s: float, to_s: float, columns: int) -> Detail:
    """The stretch of *path* from *from_s* to *to_s*, for a picture that many columns wide.

    Raises
    ------
    ValueError : not a stretch of at most MOST_S, or not a number of columns
    Unreadable : as `delivery.measure`
    """
    if not (0 <= from_s < to_s <= from_s + MOST_S and 0 < columns <= MOST_COLUMNS):
        raise ValueError(f"{from_s} to {to_s} s in {columns} columns")
    with open_sound(path) as sound:
        rate_hz = sound.facts.rate_hz
        first, wanted = int(from_s * rate_hz), max(1, int(np.ceil((to_s - from_s) * rate_hz)) + 1)
        blocks = sound.blocks(wanted, first) if first < (sound.facts.frames or first + 1) else iter(())
        block = next(iter(blocks), np.zeros((0, sound.facts.channels)))
    per_column = -(-len(block) // columns) if len(block) > SAMPLES_PER_COLUMN * columns else 1
    if per_column == 1:
        return Detail(rate_hz, first, 1, _rounded(block.T), ())
    starts = np.arange(0, len(block), per_column)
    highest, lowest = np.maximum.reduceat(block, starts), np.minimum.reduceat(block, starts)
    return Detail(rate_hz, first, per_column, _rounded(highest.T), _rounded(lowest.T))


def _rounded(channels: NDArray[np.float64]) -> tuple[tuple[float, ...], ...]:
    return tuple(tuple(map(float, np.round(channel, 8))) for channel in channels)
