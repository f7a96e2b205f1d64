"""A sound file read forwards in pieces of any length, at any sample rate; what was passed is forgotten."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from delivery.audio.blocks import open_sound

Array = NDArray[np.float64]

BLOCK = 65_536


class Forward:
    """Frames of one sound; each piece begins no earlier than the one before."""

    def __init__(self, blocks: Iterator[Array], channels: int) -> None:
        self._blocks, self._held, self._begins = blocks, np.zeros((0, channels)), 0

    def read(self, start: int, frames: int) -> Array:
        """(frames, channels) from frame *start* on; zeros before the sound's beginning and behind its end.

        Raises
        ------
        Unreadable : the sound breaks off before the end that its header states
        """
        self._fetch(start, start + frames)
        piece = np.zeros((frames, self._held.shape[1]))
        first, last = max(start, self._begins), min(start + frames, self._begins + len(self._held))
        if last > first:
            piece[first - start : last - start] = self._held[first - self._begins : last - self._begins]
        return piece

    def _fetch(self, start: int, stop: int) -> None:
        waiting = [self._held]
        ready = self._begins + len(self._held)
        while ready < stop and (block := next(self._blocks, None)) is not None:
            waiting.append(block)
            ready += len(block)
            if len(waiting) > 8 and ready <= start:  # a long way ahead: nothing of it is wanted
                waiting, self._begins = [block[:0]], ready
        held = np.concatenate(waiting) if len(waiting) > 1 else waiting[0]
        passed = min(max(start - self._begins, 0), len(held))
        self._held, self._begins = held[passed:], self._begins + passed


@contextmanager
def forward(path: Path, rate_hz: int) -> Iterator[Forward]:
    """Open *path* for reading forwards at *rate_hz*; converted by libsoxr at its highest quality where it differs."""
    with open_sound(path, count=False) as sound:
        own_hz, channels = sound.facts.rate_hz, sound.facts.channels
        blocks = sound.blocks(BLOCK)
        yield Forward(blocks if own_hz == rate_hz else _converted(blocks, own_hz, rate_hz, channels), channels)


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
