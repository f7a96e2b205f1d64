"""Sections of a piece of music from its level and timbre over time.

Novelty along the diagonal of a self-similarity matrix, with a Gaussian-tapered checkerboard kernel: Foote, "Automatic
audio segmentation using a measure of audio novelty", ICME 2000. Common practice, no source: the lengths and thresholds.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

KERNEL_S = (8.0, 16.0)
"""Length of the sound before and after a boundary that is compared: least, of short songs, and most."""
KERNEL_SHARE = 1 / 12
"""Of the song, between these: sections of long songs are longer."""
APART_SHARE = 0.75
"""Of the kernel; boundaries are no nearer to each other."""
LEAST_SHARE = 0.25
"""Of the highest peak; lower ones are the music's own motion."""
LEAST_NOVELTY = 0.12
"""Steady noise stays below this."""
SPREAD_DB = 3.0
"""A feature that moves by less than this is not blown up to the others' size."""
LEAST_CONTRAST = 0.5
"""Neighbours whose means differ by less, in standard deviations within them, are one section."""
STILL_DB = 1.5
"""Added to those deviations: of two steady sounds a small difference would count as a large one."""


def boundaries(features: Array, step_s: float) -> tuple[float, ...]:
    """Times in seconds at which a new section begins, the start excluded.

    Parameters
    ----------
    features : (steps, features) levels in dB
    """
    kernel_s = min(max(len(features) * step_s * KERNEL_SHARE, KERNEL_S[0]), KERNEL_S[1])
    reach = round(kernel_s / step_s)
    if len(features) < 3 * reach:
        return ()
    found = _peaks(novelty(features, reach), round(APART_SHARE * reach))
    return tuple(round(at * step_s, 3) for at in _without_weak(found, features))


def _peaks(curve: Array, apart: int) -> list[int]:
    """The highest places of the curve, in order of time."""
    inner = curve[apart : len(curve) - apart + 1]
    least = max(LEAST_SHARE * float(inner.max(initial=0.0)), LEAST_NOVELTY)
    found: list[int] = []
    for at in np.argsort(-curve, kind="stable").tolist():
        if curve[at] <= least:
            break
        ends = min(at, len(curve) - at)
        if ends >= apart and all(abs(at - other) >= apart for other in found):
            found.append(at)
    return sorted(found)


def _without_weak(cuts: list[int], features: Array) -> list[int]:
    """Neighbours that hardly differ joined, the most alike ones first."""
    kept = list(cuts)
    while kept:
        edges = [0, *kept, len(features)]
        parts = [features[first:end] for first, end in pairwise(edges)]
        contrasts = [_contrast(before, after) for before, after in pairwise(parts)]
        weakest = int(np.argmin(contrasts))
        if contrasts[weakest] >= LEAST_CONTRAST:
            break
        del kept[weakest]
    return kept


def _contrast(before: Array, after: Array) -> float:
    """Root mean square over the features of how far the means differ, in standard deviations within the two."""
    variances = (before.var(axis=0) + after.var(axis=0)) / 2 + STILL_DB**2
    return float(np.sqrt(((before.mean(axis=0) - after.mean(axis=0)) ** 2 / variances).mean()))


def novelty(features: Array, reach: int) -> Array:
    """(steps,) how unlike the *reach* steps before and behind each place are, against how alike each is to itself.

    1 would be two halves that are each the same throughout and have nothing in common.
    """
    spread = np.maximum(features.std(axis=0), SPREAD_DB)
    scaled = (features - features.mean(axis=0)) / spread
    squares = (scaled**2).sum(axis=1)
    distances = np.sqrt(np.maximum(squares[:, None] + squares[None, :] - 2 * scaled @ scaled.T, 0.0))
    alike = np.exp(-distances / max(float(np.median(distances)), 1e-9))
    padded = np.pad(alike, reach, mode="edge")
    offsets = np.arange(-reach, reach) + 0.5
    taper = np.exp(-0.5 * (offsets / (0.4 * reach)) ** 2)
    kernel = np.sign(offsets)[:, None] * np.sign(offsets)[None, :] * taper[:, None] * taper[None, :]
    kernel /= np.abs(kernel).sum() / 2
    count = len(features)
    return np.array([float((padded[at : at + 2 * reach, at : at + 2 * reach] * kernel).sum()) for at in range(count)])
