"""How much memory a very long file takes: all meters, fed as from a file, and the most this process ever held.

    python -m tests.benchmarks.memory            three hours of 24/96 stereo, made block by block
    python -m tests.benchmarks.memory 1 192000   hours, rate in Hz
    python -m tests.benchmarks.memory FILE       a file, through the reader

Wanted: three hours of 24/96 under 300 MB, Python, its libraries and compiled code included.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.meters import measure, measure_blocks
from tests.benchmarks.figures import record_values
from tests.benchmarks.meters import peak_memory_mb

Array = NDArray[np.float64]

BLOCK = 65_536
MOST_MB = 300


def blocks(frames: int, seed: int = 1) -> Iterator[Array]:
    """Noise of 24 bits, louder and softer from block to block, clipped and silent now and then: lists grow too."""
    rng = np.random.default_rng(seed)
    noise = np.rint(np.clip(rng.standard_normal((2, BLOCK)) * 0.2, -1, 1) * 2**20)
    for at in range(0, frames, BLOCK):
        k = at // BLOCK
        gain = 0.0 if k % 97 == 96 else 2.0 ** (3 - k % 4)
        piece = np.clip(noise * gain, -(2**23), 2**23 - 1) / 2**23
        yield piece[:, : frames - at].T


def main(parser: list[str]) -> int:
    begun = time.process_time()
    if parser and Path(parser[0]).is_file():
        found = measure(Path(parser[0]))
    else:
        hours, rate_hz = float(parser[0]) if parser else 3.0, int(parser[1]) if len(parser) > 1 else 96_000
        frames = round(hours * 3600 * rate_hz)
        facts = SoundFacts(Path("long.wav"), "wav", "RF64", "pcm", rate_hz, 2, frames, 24, frames * 6)
        found = measure_blocks(facts, blocks(frames))
    rows = sum(reading.exists for reading in found.values())
    held = peak_memory_mb()
    print(
        f"{found.value('duration_s') / 3600:.2f} h at {found.value('rate_hz')} Hz, {found.value('channels')} channels"
    )
    print(f"{rows} of {len(found)} figures, {time.process_time() - begun:.1f} s of processor time")
    print(f"most memory held: {held:.0f} MB (wanted: under {MOST_MB})")
    if not parser:
        record_values("accuracy", "long-file", {"memory_mb": f"{held:.0f}"})
    return int(held >= MOST_MB)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
