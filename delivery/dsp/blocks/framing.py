"""Cut windows out of audio that arrives in blocks: at any positions, overlapping or apart, for any block length."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[Any]


class Framing:
    """Window number k covers *size* frames from ``begins(k)`` on; ``begins`` never decreases; samples are of *kind*."""

    def __init__(self, channels: int, size: int, begins: Callable[[int], int], kind: type = np.float64) -> None:
        self._size, self._begins = size, begins
        self._pieces: list[Array] = [np.zeros((channels, 0), kind)]
        """Blocks that wait for the next window to fill; they are joined once per window, not at every block."""
        self._number = self._frames = 0

    def windows(self, samples: Array) -> Iterator[tuple[int, Array]]:
        """(first frame, (channels, size)) of each window completed by these (channels, frames)."""
        size, first = self._size, self._frames
        self._frames += samples.shape[1]
        start = self._begins(self._number)
        if start + size <= self._frames:
            earlier = self.rest
            held = earlier.shape[1]
            while start + size <= self._frames:
                at = start - first
                if at >= 0:
                    yield start, samples[:, at : at + size]
                else:
                    yield start, np.concatenate([earlier[:, held + at :], samples[:, : at + size]], axis=1)
                self._number += 1
                start = self._begins(self._number)
            self._pieces = [earlier[:, held + min(start - first, 0) :].copy()]
        if start > first:
            self._pieces = []
        self._pieces.append(samples[:, max(start - first, 0) :].copy())

    @property
    def rest(self) -> Array:
        """Samples not covered by any window yet."""
        return np.concatenate(self._pieces, axis=1)


def spread(frames: int, size: int, enough: int, most_apart: float) -> Callable[[int], int]:
    """Start frames of about *enough* windows in a file of *frames*: from 75 % overlap to *most_apart* sizes apart.

    Windows apart from each other are offset within their distance by multiples of the golden section that grow with the
    square of their number: so they align with no beat. Plain multiples do with some (one of 0.266 s, at 0.84 s apart).
    """
    hop = min(max(frames // enough, size // 4), round(most_apart * size))
    turn = 0.618034 if hop > size else 0.0
    return lambda k: int(hop * (k + turn * k * k % 1))
