"""A meter's memory depends on how long the sound lasts only by what it keeps for each second, and never on the rate.

`python -m tests.benchmarks.memory` feeds three hours of 24/96 and tells the whole process's memory.
"""

from __future__ import annotations

import tracemalloc
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from delivery.meters import measure_blocks
from tests.meters.memory import facts
from tests.signals import noise

RATE_HZ = 8_000
MOST_A_SECOND = 8_000
"""Bytes; three hours then take 86 MB. The samples of one second, kept, would be 128 000 at this lowest of rates."""


def peak_bytes(seconds: int) -> int:
    """The most that arrays and Python took together while *seconds* of stereo went by."""
    piece = np.asfortranarray(noise(RATE_HZ, 2, level_dbfs=-12))

    def blocks() -> Iterator[NDArray[np.float64]]:
        for k in range(seconds // 2):
            yield piece * (0.0 if k % 31 == 30 else 0.3 + k % 3)

    about = facts(np.zeros((0, 2)), RATE_HZ)
    tracemalloc.start()
    try:
        measure_blocks(about, blocks())
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_memory_grows_by_little_for_each_second() -> None:
    """All meters together; a first run loads and compiles what is needed and is not counted."""
    peak_bytes(4)
    short, long = peak_bytes(120), peak_bytes(720)
    grown = (long - short) / 600
    print(f"{grown:.0f} bytes for each second, {grown * 3 * 3600 / 1e6:.0f} MB for three hours")
    assert grown < MOST_A_SECOND
