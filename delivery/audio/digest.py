"""A name for the sound itself: the same samples give the same digest in any lossless container, tags ignored."""

from __future__ import annotations

import hashlib

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.bits import left_justified


class AudioDigest:
    """SHA-256 of rate, channel count and samples.

    Integer codings count as little-endian int32, left-justified, so 16 bits and the same 16 bits padded to 24 are the
    same sound. Float codings count as little-endian float64, with -0.0 taken as 0.0.
    """

    def __init__(self, rate_hz: int, channels: int, integers: bool) -> None:
        self._integers = integers
        kind = "integers" if integers else "floats"
        self._sha256 = hashlib.sha256(f"{rate_hz} Hz, {channels} channels, {kind}\n".encode("ascii"))

    def update(self, block: NDArray[np.float64]) -> None:
        """Take the next (frames, channels) float64, full scale 1.0; any number of frames."""
        if self._integers:
            words = np.empty(block.shape, np.int32)
            left_justified(np.ascontiguousarray(block.T), words)
            self.update_words(words)
        else:
            self._sha256.update(np.ascontiguousarray(block + 0.0, dtype="<f8").data)

    def update_words(self, words: NDArray[np.int32]) -> None:
        """The same for (frames, channels) int32, left-justified: what a writer of integers is handed."""
        self._sha256.update(np.ascontiguousarray(words, dtype="<i4").data)

    def hexdigest(self) -> str:
        return self._sha256.hexdigest()
