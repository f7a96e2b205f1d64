"""Random numbers by position: the draw of any frame is available without computing earlier ones."""

from __future__ import annotations

from hashlib import sha256

import numpy as np
from numpy.typing import NDArray

Draws = NDArray[np.uint64]

_DRAWS_A_COUNT = 4
"""Philox4x64 produces four 64-bit numbers for each value of its counter."""


def draws(seed: str, channels: int, start: int, frames: int) -> Draws:
    """Draws for *frames* frames from *start* on: (channels, frames) uint64, uniform, independent per channel.

    The result depends on the arguments only, so block size, workers and restarts cannot change the dither.
    Philox4x64-10: Salmon, Moraes, Dror, Shaw, "Parallel Random Numbers: As Easy as 1, 2, 3", SC11 (2011).
    """
    return np.stack([ChannelDraws(seed, channel, start).take(frames) for channel in range(channels)])


class ChannelDraws:
    """Sequential draws of one channel, from *start* on."""

    def __init__(self, seed: str, channel: int, start: int = 0) -> None:
        self._key = int.from_bytes(sha256(f"{seed}/{channel}".encode()).digest()[:16], "little")
        self._position = start
        self._go_to(start)

    def _go_to(self, position: int) -> None:
        count, within = divmod(position, _DRAWS_A_COUNT)
        self._generator = np.random.Philox(key=self._key, counter=count)
        self._generator.random_raw(within)
        self._position = position

    def take(self, frames: int) -> Draws:
        """(frames,) uint64, the next ones."""
        self._position += frames
        raw: Draws = self._generator.random_raw(frames)
        return raw

    def pass_over(self, frames: int) -> None:
        """Skip this many, in constant time."""
        self._go_to(self._position + frames)
