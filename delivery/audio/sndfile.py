"""WAV, AIFF, FLAC and Vorbis through libsndfile: whole numbers stay whole, floats stay floats."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import soundfile
from numpy.typing import NDArray

from delivery.audio.facts import BLOCK_FRAMES, Header, SoundFacts, checked, clock, unreadable
from delivery.errors import Unreadable

Array = NDArray[np.float64]
STEP = 2.0**-31
"""libsndfile hands integers over left-justified in 32 bits; times this is exact in float64."""
FLAC_BITS = {"PCM_S8": 8, "PCM_16": 16, "PCM_24": 24}
FLAC_LENGTH_UNKNOWN = 2**62


class SndFile:
    """One open file; one handle for each thread."""

    def __init__(self, path: Path, header: Header) -> None:
        try:
            self._file = soundfile.SoundFile(path)
        except (soundfile.LibsndfileError, OSError) as problem:
            raise unreadable(path, f"a damaged {header.container.upper()} header ({_words(problem)})") from problem
        try:
            self.facts = _facts(path, header, self._file)
        except Unreadable:
            self.close()
            raise
        self._whole = self.facts.frames < FLAC_LENGTH_UNKNOWN

    def close(self) -> None:
        self._file.close()

    def blocks(self, frames: int = BLOCK_FRAMES) -> Iterator[Array]:
        """(n, channels) float64; the memory is laid out channel by channel."""
        integers = self.facts.integers
        reached = 0
        kind = "int32" if integers else "float64"
        while len(block := self._read(min(frames, self.facts.frames - reached), kind, reached)):
            reached += len(block)
            yield _scaled(block) if integers else block
        if reached < self.facts.frames and self._whole:
            raise self._broken(reached, "stops early")

    def _read(self, frames: int, dtype: str, reached: int) -> NDArray[Any]:
        try:
            block: NDArray[Any] = self._file.read(frames, dtype=dtype, always_2d=True)
        except (soundfile.LibsndfileError, OSError) as problem:
            raise self._broken(reached, f"breaks off ({_words(problem)})") from problem
        return block

    def _broken(self, reached: int, how: str) -> Unreadable:
        facts = self.facts
        at, end = clock(reached / facts.rate_hz), clock(facts.duration_s)
        return unreadable(facts.path, f"sound that {how} at {at} of {end} (frame {reached} of {facts.frames})")


def _scaled(integers: NDArray[np.int32]) -> Array:
    planar = np.empty(integers.shape[::-1])
    np.multiply(integers.T, STEP, out=planar)
    return planar.T


def _facts(path: Path, header: Header, file: Any) -> SoundFacts:
    bits = FLAC_BITS.get(file.subtype, 24) if header.container == "flac" else header.bits
    facts = SoundFacts(
        path,
        header.container,
        header.riff_form,
        header.coding,
        file.samplerate,
        file.channels,
        file.frames,
        bits,
        header.size_bytes,
        header.extensible,
    )
    return checked(facts)


def _words(problem: Exception) -> str:
    text = getattr(problem, "error_string", "") or str(problem)
    return str(text).strip().rstrip(".")
