"""Where a version differs from the stretches of its main that it holds: gain, muted places, additions. Pure.

Powers of frames of 10 ms are compared. Common practice, no source: the lengths and thresholds.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from delivery.model.version import Change, Place, Version

Sound = NDArray[np.float32]
Array = NDArray[np.float64]

QUIET = 1e-7
"""Mean square of silence (-70 dBFS)."""
FRAME_S = 0.01
SMOOTH = 3
"""Frames over which power is averaged before two are compared."""
SAME_DB = -20.0
"""What is left of the main when the version is subtracted, where both are the same."""
MUTED_DB = -25.0
SHORTEST_S, BRIDGED_S = 0.03, 0.25
"""Shorter differences are left out; those that are nearer to each other are one place."""
UNLIKE = 0.3
"""A residual that correlates less with the version is something that the main holds besides."""
SURE = 0.98
"""Squared coherence of frames from which the gain is taken."""
LEAST_SURE = 0.02
"""Share of such frames."""


@dataclass(frozen=True, slots=True)
class _Frames:
    """Powers of 10 ms: of the main, of the version, and their product."""

    at_s: Array
    main: Array
    other: Array
    product: Array

    def left_db(self, gain: float) -> Array:
        """Smoothed residual relative to the main version."""
        left = self.main - 2 * self.product / gain + self.other / gain**2
        return 10 * np.log10(np.maximum(_smooth(left), 1e-12) / np.maximum(_smooth(self.main), 1e-12))


def compared(version: Version, main: Sound, other: Sound) -> Version:
    """*version* with its gain and the places where *other* differs from *main* within its pieces.

    Parameters
    ----------
    main, other : (frames,) both channels added up
    """
    frames = _frames(version, main, other)
    gain = _gain(frames)
    sounding = _smooth(frames.main) > QUIET
    left_db = frames.left_db(gain)
    same = (left_db < SAME_DB) & sounding
    rest = (frames.main - 2 * frames.product / gain + frames.other / gain**2)[same].sum()
    heard = max(int(sounding.sum()), 1)
    silent = sounding & (_smooth(frames.other) < QUIET)
    return Version(
        version.rate_hz,
        version.main_frames,
        version.other_frames,
        version.pieces,
        20 * float(np.log10(abs(gain))),
        float(same.sum()) / heard,
        10 * float(np.log10(max(float(rest / max(frames.main[same].sum(), 1e-12)), 1e-12))) if same.any() else None,
        tuple(_places(frames, gain, sounding & ~same)),
        float(silent.sum()) / heard,
    )


def _frames(version: Version, main: Sound, other: Sound) -> _Frames:
    size = round(FRAME_S * version.rate_hz)
    rows: list[list[Array]] = []
    for piece in version.pieces:
        count = piece.frames // size
        mine = main[piece.main : piece.main + count * size].reshape(count, size)
        theirs = other[piece.other : piece.other + count * size].reshape(count, size)
        at_s = (piece.main + np.arange(count) * size) / version.rate_hz
        pairs = ((mine, mine), (theirs, theirs), (mine, theirs))
        powers = (np.einsum("ij,ij->i", x, y).astype(np.float64) / size for x, y in pairs)
        rows.append([at_s, *powers])
    return _Frames(*(np.concatenate(column) for column in zip(*rows, strict=True)))


def _gain(frames: _Frames) -> float:
    """Of the version over the main: the median of frames that are surely the same; where there are few, by least
    squares, as if the main held the version and something else besides.
    """
    both = (frames.main > QUIET) & (frames.other > QUIET)
    if not both.any():
        return 1.0
    main, other, product = (row[both] for row in (frames.main, frames.other, frames.product))
    sure = product**2 >= SURE * main * other
    if sure.mean() < LEAST_SURE:
        return float(other.sum() / (product.sum() or 1.0)) or 1.0
    return float(np.median(product[sure] / main[sure])) or 1.0


def _places(frames: _Frames, gain: float, differs: NDArray[np.bool_]) -> Iterator[Place]:
    for first, end in _spans(differs, frames.at_s):
        inner = slice(min(first + 1, end - 1), max(end - 1, first + 1))
        own, theirs, product = (float(row[inner].sum()) for row in (frames.main, frames.other, frames.product))
        left = own - 2 * product / gain + theirs / gain**2
        alike = (product / gain - theirs / gain**2) / max(np.sqrt(max(left, 0.0) * theirs) / abs(gain), 1e-12)
        more = (own - product / gain) / max(np.sqrt(max(left, 0.0) * own), 1e-12)
        ratios = np.maximum(frames.other[inner], 1e-12) / np.maximum(frames.main[inner] * gain**2, 1e-12)
        if 10 * np.log10(np.median(ratios)) < MUTED_DB:
            change = Change.MUTED
        elif abs(alike) < UNLIKE:
            change = Change.LESS
        else:
            change = Change.MORE if abs(more) < UNLIKE else Change.OTHER
        yield Place(change, float(frames.at_s[inner.start]), float(frames.at_s[inner.stop - 1]) + FRAME_S)


def _spans(differs: NDArray[np.bool_], at_s: Array) -> Iterator[tuple[int, int]]:
    """Runs of frames that differ, joined over short gaps; short ones are left out."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], differs, [False]]).astype(np.int8)))
    spans: list[tuple[int, int]] = []
    for first, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        if spans and 0 <= at_s[first] - at_s[spans[-1][1] - 1] < BRIDGED_S:
            spans[-1] = (spans[-1][0], end)
        else:
            spans.append((first, end))
    yield from (span for span in spans if (span[1] - span[0]) * FRAME_S >= SHORTEST_S)


def _smooth(powers: Array) -> Array:
    return np.convolve(powers, np.full(SMOOTH, 1 / SMOOTH), mode="same")
