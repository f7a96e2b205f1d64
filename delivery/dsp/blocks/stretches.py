"""Whole segments of audio that begin at the same frames for any block length; nothing large is copied."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Stretches:
    """Yields (channels, *before* + whole segments): each piece is preceded by *before* frames of earlier audio.

    Frames before the file's first count as zeros.
    """

    def __init__(self, channels: int, stretch: int, before: int = 0) -> None:
        self._stretch, self._before = stretch, before
        self._left = np.zeros((channels, before))
        self._frame = 0

    def pieces(self, samples: Array) -> Iterator[tuple[Array, int]]:
        """Each piece of *samples*, (channels, frames), with the frame number after its lead."""
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
        if kept <= frames:
            self._left = samples[:, frames - kept :].copy()
        else:
            self._left = np.concatenate([self._left[:, frames - kept :], samples], axis=1)

    def _whole(self, waiting: int, frames: int) -> int:
        """How far into the new samples whole segments reach."""
        return (waiting + frames) // self._stretch * self._stretch - waiting

    def _passed(self, frames: int) -> int:
        frame = self._frame
        self._frame += frames
        return frame


class Lately:
    """The last block and the frames before it, and any part of them; blocks are kept without copying."""

    def __init__(self, frames: int) -> None:
        """Keep at least *frames* before the last block."""
        self._most = frames
        self._blocks: deque[Array] = deque()
        self._kept = self._end = 0

    def append(self, samples: Array) -> None:
        """Append the next (channels, frames); the array must not change later."""
        self._blocks.append(samples)
        self._kept += samples.shape[1]
        self._end += samples.shape[1]
        while self._kept - samples.shape[1] - self._blocks[0].shape[1] >= self._most:
            self._kept -= self._blocks.popleft().shape[1]

    def channel(self, channel: int, first: int, end: int) -> Array | None:
        """Frames *first* to *end* of one channel as one array; None if no longer or not yet available."""
        if end > self._end or first < max(0, self._end - self._kept):
            return None
        pieces: list[Array] = []
        behind = self._end
        for block in reversed(self._blocks):
            begin = behind - block.shape[1]
            if begin < end:
                pieces.append(block[channel, max(first - begin, 0) : end - begin])
            if begin <= first:
                break
            behind = begin
        return pieces[0] if len(pieces) == 1 else np.concatenate(pieces[::-1])

    def latest(self, frames: int) -> Array:
        """A copy of the last (channels, frames); fewer if there are not as many."""
        last = self._blocks[-1]
        joined = last if last.shape[1] >= frames else np.concatenate(list(self._blocks), axis=1)
        return joined[:, -frames:].copy()
