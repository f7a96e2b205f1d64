"""Sound in whole stretches that begin at the same frames however it was cut into blocks; nothing large is copied."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Stretches:
    """Hands on (channels, *before* + whole stretches): *before* frames of what came earlier lead every piece.

    Frames before the file's first count as zeros.
    """

    def __init__(self, channels: int, stretch: int, before: int = 0) -> None:
        self._stretch, self._before = stretch, before
        self._left = np.zeros((channels, before))
        self._frame = 0

    def pieces(self, samples: Array) -> Iterator[tuple[Array, int]]:
        """Each piece of *samples*, (channels, frames), with the frame that stands behind its lead."""
        waiting = self._left.shape[1] - self._before
        frames = samples.shape[1]
        if waiting + frames < self._stretch:
            self._left = np.concatenate([self._left, samples], axis=1)
            return
        at = 0
        if self._before or waiting:
            at = self._stretch - waiting
            if at < self._before:
                at = min(at + -(-(self._before - at) // self._stretch) * self._stretch, self._whole(waiting, frames))
            yield np.concatenate([self._left, samples[:, :at]], axis=1), self._passed(waiting + at)
        end = self._whole(waiting, frames)
        if end > at:
            yield samples[:, at - self._before : end], self._passed(end - at)
        kept = self._before + frames - end
        self._left = np.concatenate([self._left, samples[:, -kept:]], axis=1)[:, -kept:] if kept else samples[:, :0]

    def _whole(self, waiting: int, frames: int) -> int:
        """How far into the new samples whole stretches reach."""
        return (waiting + frames) // self._stretch * self._stretch - waiting

    def _passed(self, frames: int) -> int:
        frame = self._frame
        self._frame += frames
        return frame


class Lately:
    """The last frames of the sound, and any part of them."""

    def __init__(self, channels: int, frames: int) -> None:
        self._most = frames
        self._kept = np.zeros((channels, 0))
        self._block = np.zeros((channels, 0))
        self._end = 0

    def append(self, samples: Array) -> None:
        """Take the next (channels, frames); they are borrowed until the next call."""
        if self._block.shape[1] >= self._most:
            self._kept = self._block[:, -self._most :].copy()
        elif self._block.shape[1]:
            self._kept = np.concatenate([self._kept, self._block], axis=1)[:, -self._most :]
        self._block = samples
        self._end += samples.shape[1]

    def channel(self, channel: int, first: int, end: int) -> Array | None:
        """Frames *first* to *end* of one channel in one piece of memory; None where they are gone or not there yet."""
        begin = self._end - self._block.shape[1]
        if end > self._end or first < max(0, begin - self._kept.shape[1]):
            return None
        if first >= begin:
            return self._block[channel, first - begin : end - begin]
        kept = self._kept[channel, self._kept.shape[1] + first - begin :]
        if end <= begin:
            return np.ascontiguousarray(kept[: end - first])
        return np.concatenate([kept, self._block[channel, : end - begin]])
