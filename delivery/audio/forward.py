"""A sound file read forwards in pieces of any length, at any sample rate; what was passed is forgotten."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from delivery.audio.blocks import open_sound
from delivery.audio.plain_pcm import PlainPcm

Array = NDArray[np.float64]

BLOCK = 65_536


class Forward:
    """Frames of one sound; each piece begins no earlier than the one before.

    Parameters
    ----------
    restart : blocks from a frame on, where the file can be entered anywhere; None: it is read through
    """

    def __init__(
        self, blocks: Iterator[Array], channels: int, restart: Callable[[int], Iterator[Array]] | None = None
    ) -> None:
        self._blocks, self._held, self._begins, self._restart = blocks, np.zeros((channels, 0)), 0, restart

    def read(self, start: int, frames: int) -> Array:
        """(frames, channels) from frame *start* on, each channel contiguous; zeros before the sound and behind its end.

        Raises
        ------
        Unreadable : the sound breaks off before the end that its header states
        """
        self._fetch(start, start + frames)
        first, last = max(start, self._begins), min(start + frames, self._begins + self._held.shape[1])
        if (first, last) == (start, start + frames):
            return self._held[:, start - self._begins : last - self._begins].T
        piece = np.zeros((len(self._held), frames))
        if last > first:
            piece[:, first - start : last - start] = self._held[:, first - self._begins : last - self._begins]
        return piece.T

    def _fetch(self, start: int, stop: int) -> None:
        ready = self._begins + self._held.shape[1]
        if self._restart and start > ready + BLOCK:
            self._blocks, self._held, self._begins, ready = self._restart(start), self._held[:, :0], start, start
        waiting = [self._held]
        while ready < stop and (block := next(self._blocks, None)) is not None:
            waiting.append(block.T)
            ready += len(block)
            if len(waiting) > 8 and ready <= start:  # a long way ahead: nothing of it is wanted
                waiting, self._begins = [block.T[:, :0]], ready
        held = np.concatenate(waiting, axis=1) if len(waiting) > 1 else waiting[0]
        passed = min(max(start - self._begins, 0), held.shape[1])
        self._held, self._begins = held[:, passed:], self._begins + passed


@contextmanager
def forward(path: Path, rate_hz: int) -> Iterator[Forward]:
    """Open *path* for reading forwards at *rate_hz*; converted by libsoxr at its highest quality where it differs."""
    with open_sound(path, count=False) as sound:
        own_hz, channels = sound.facts.rate_hz, sound.facts.channels
        blocks = sound.blocks(BLOCK)
        if own_hz != rate_hz:
            yield Forward(_converted(blocks, own_hz, rate_hz, channels), channels)
        elif isinstance(sound, PlainPcm):
            yield Forward(blocks, channels, lambda start: sound.blocks(BLOCK, start))
        else:
            yield Forward(blocks, channels)


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
