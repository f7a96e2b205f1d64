"""Random numbers by position: the draw of any frame is available without computing earlier ones."""

from __future__ import annotations

from hashlib import sha256

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.writing._loops import philox

Draws = NDArray[np.uint64]

_DRAWS_A_COUNT = 4
"""Philox4x64 makes four 64-bit numbers for each value of its counter, which begins at 1."""
_DRAWS_AT_ONCE = 8


def draws(seed: str, channels: int, start: int, frames: int) -> Draws:
    """Draws for *frames* frames from *start* on: (channels, frames) uint64, uniform, independent per channel.

    The result depends on the arguments only, so block size, workers and restarts cannot change the dither.
    Philox4x64-10: Salmon, Moraes, Dror, Shaw, "Parallel Random Numbers: As Easy as 1, 2, 3", SC11 (2011).
    """
    return np.stack([ChannelDraws(seed, channel, start).take(frames) for channel in range(channels)])


class ChannelDraws:
    """Sequential draws of one channel, from *start* on."""

    def __init__(self, seed: str, channel: int, start: int = 0) -> None:
        key = sha256(f"{seed}/{channel}".encode()).digest()
        self._key = int.from_bytes(key[:8], "little"), int.from_bytes(key[8:16], "little")
        self._position = start

    def take(self, frames: int) -> Draws:
        """(frames,) uint64, the next ones."""
        begins, self._position = self._position, self._position + frames
        early = begins % _DRAWS_AT_ONCE
        made = np.empty(-(-(early + frames) // _DRAWS_AT_ONCE) * _DRAWS_AT_ONCE, np.uint64)
        philox(*self._key, (begins - early) // _DRAWS_A_COUNT + 1, made)
        return made[early : early + frames]

    def pass_over(self, frames: int) -> None:
        """Skip this many, in constant time."""
        self._position += frames
