"""Random numbers by position: the draw of any frame is available without computing earlier ones."""

from __future__ import annotations

from hashlib import sha256

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.writing._philox import fill

Draws = NDArray[np.uint64]

_DRAWS_A_COUNT = 4
"""Philox4x64 produces four 64-bit numbers for each value of its counter."""


def draws(seed: str, channels: int, start: int, frames: int) -> Draws:
    """Draws for *frames* frames from *start* on: (channels, frames) uint64, uniform, independent per channel.

    The result depends on the arguments only, so block size, workers and restarts cannot change the dither. They are
    those of ``numpy.random.Philox(key)``, from *start* on.
    """
    return np.stack([ChannelDraws(seed, channel, start).take(frames) for channel in range(channels)])


class ChannelDraws:
    """Sequential draws of one channel, from *start* on."""

    def __init__(self, seed: str, channel: int, start: int = 0) -> None:
        digest = sha256(f"{seed}/{channel}".encode()).digest()
        self._key = int.from_bytes(digest[:8], "little"), int.from_bytes(digest[8:16], "little")
        self._position = start

    def take(self, frames: int) -> Draws:
        """(frames,) uint64, the next ones."""
        count, within = divmod(self._position, _DRAWS_A_COUNT)
        raw = np.empty(-(-(within + frames) // _DRAWS_A_COUNT) * _DRAWS_A_COUNT, np.uint64)
        fill(*self._key, count + 1, raw)
        self._position += frames
        return raw[within : within + frames]

    def pass_over(self, frames: int) -> None:
        """Skip this many, in constant time."""
        self._position += frames
