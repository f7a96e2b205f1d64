"""Random numbers by position: any frame's draw can be had without drawing those before it."""

from __future__ import annotations

from hashlib import sha256

import numpy as np
from numpy.typing import NDArray

Draws = NDArray[np.uint64]

_DRAWS_A_COUNT = 4
"""Philox4x64 makes four 64-bit numbers for each value of its counter."""


def draws(seed: str, channels: int, start: int, frames: int) -> Draws:
    """Draws for *frames* instants from *start* on: (channels, frames) uint64, uniform, independent per channel.

    The answer depends on the arguments alone, so block size, workers and restarts cannot change a dither.
    Philox4x64-10: Salmon, Moraes, Dror, Shaw, "Parallel Random Numbers: As Easy as 1, 2, 3", SC11 (2011).
    """
    return np.stack([_channel_draws(f"{seed}/{channel}", start, frames) for channel in range(channels)])


def _channel_draws(seed: str, start: int, frames: int) -> Draws:
    key = int.from_bytes(sha256(seed.encode()).digest()[:16], "little")
    count, skip = divmod(start, _DRAWS_A_COUNT)
    raw: Draws = np.random.Philox(key=key, counter=count).random_raw(skip + frames)
    return raw[skip:]
