"""A sound file read forwards in pieces of any length, at any sample rate; what was passed is forgotten."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from delivery.audio.blocks import open_sound
from delivery.audio.plain_pcm import PlainPcm

Array = NDArray[np.float64]

BLOCK = 65_536


class Forward(Protocol):
    """Frames of one sound; each piece begins no earlier than the one before."""

    def read(self, start: int, frames: int) -> Array:
        """(frames, channels) from frame *start* on, each channel contiguous; zeros before the sound and behind its end.

        Raises
        ------
        Unreadable : the sound breaks off before the end that its header states
        """


class _ReadThrough:
    """Of a sound that comes in blocks."""

    def __init__(self, blocks: Iterator[Array], channels: int) -> None:
        self._blocks, self._held, self._begins = blocks, np.zeros((channels, 0)), 0

    def read(self, start: int, frames: int) -> Array:
        self._fetch(start, start + frames)
        return _padded(self._held.T, self._begins, start, frames)

    def _fetch(self, start: int, stop: int) -> None:
        ready = self._begins + self._held.shape[1]
        waiting = [self._held]
        while ready < stop and (block := next(self._blocks, None)) is not None:
            waiting.append(block.T)
            ready += len(block)
            if len(waiting) > 8 and ready <= start:  # a long way ahead: nothing of it is wanted
                waiting, self._begins = [block.T[:, :0]], ready
        held = np.concatenate(waiting, axis=1) if len(waiting) > 1 else waiting[0]
        passed = min(max(start - self._begins, 0), held.shape[1])
        self._held, self._begins = held[:, passed:], self._begins + passed


class _Entered:
    """Of a file that can be entered anywhere: each piece is read by itself, and nothing is joined or kept."""

    def __init__(self, sound: PlainPcm) -> None:
        self._sound = sound

    def read(self, start: int, frames: int) -> Array:
        first, last = max(start, 0), min(start + frames, self._sound.facts.frames)
        if first >= last:
            return np.zeros((self._sound.facts.channels, frames)).T
        return _padded(next(self._sound.blocks(last - first, first)), first, start, frames)


def _padded(held: Array, begins: int, start: int, frames: int) -> Array:
    """(frames, channels) from *start* on of a sound held from frame *begins* on; a view where all of it is there."""
    first, last = max(start, begins), min(start + frames, begins + len(held))
    if (first, last) == (start, start + frames):
        return held[first - begins : last - begins]
    piece = np.zeros((held.shape[1], frames)).T
    if last > first:
        piece[first - start : last - start] = held[first - begins : last - begins]
    return piece


@contextmanager
def forward(path: Path, rate_hz: int) -> Iterator[Forward]:
    """Open *path* for reading forwards at *rate_hz*; converted by libsoxr at its highest quality where it differs."""
    with open_sound(path, count=False) as sound:
        own_hz, channels = sound.facts.rate_hz, sound.facts.channels
        blocks = sound.blocks(BLOCK)
        if own_hz != rate_hz:
            yield _ReadThrough(_converted(blocks, own_hz, rate_hz, channels), channels)
        elif isinstance(sound, PlainPcm):
            yield _Entered(sound)
        else:
            yield _ReadThrough(blocks, channels)


def _converted(blocks: Iterator[Array], from_hz: int, to_hz: int, channels: int) -> Iterator[Array]:
    import soxr

    stream = soxr.ResampleStream(from_hz, to_hz, channels, dtype="float64", quality="VHQ")
    for block in blocks:
        out = stream.resample_chunk(np.ascontiguousarray(block))
        if len(out):
            yield out.reshape(-1, channels)
    rest = stream.resample_chunk(np.zeros((0, channels)), last=True)
    if len(rest):
        yield rest.reshape(-1, channels)
