"""Digest of the audio itself: equal for the same samples in any lossless container, ignoring tags."""

from __future__ import annotations

from typing import Any

import numpy as np
from blake3 import blake3
from numpy.typing import NDArray

from delivery.dsp.blocks.integers import left_justified
from delivery.dsp.history.effective_bits import whole_bits


class AudioDigest:
    """BLAKE3 of rate, channel count and samples: as strong as SHA-256, and five times as fast.

    Integer codings count as little-endian int32, left-justified, so 16 bits and the same 16 bits padded to 24 have one
    digest. So do float codings if every sample is such an integer: the same samples have one digest in any coding.
    Other floats count as little-endian float64, with -0.0 taken as 0.0.
    """

    def __init__(self, rate_hz: int, channels: int, integers: bool) -> None:
        of = f"{rate_hz} Hz, {channels} channels"
        self._as_integers: Any = blake3(f"{of}, integers\n".encode("ascii"))
        """None as soon as a float is not an integer."""
        self._values = np.empty((0, channels), np.int32)
        """Kept from block to block: fresh memory would be slower than the work in it."""
        self._floats = np.empty((0, channels), "<f8")
        self._as_floats: Any = None if integers else blake3(f"{of}, floats\n".encode("ascii"))

    def update(self, block: NDArray[np.float64]) -> None:
        """Add the next (frames, channels) float64, full scale 1.0; any number of frames."""
        if self._as_floats is not None:
            if len(self._floats) < len(block):
                self._floats = np.empty(block.shape, "<f8")
            self._as_floats.update(_bytes(np.add(block, 0.0, out=self._floats[: len(block)])))
            if self._as_integers is None or whole_bits(np.ascontiguousarray(block.T), 0) < 0:
                self._as_integers = None
                return
        if len(self._values) < len(block):
            self._values = np.empty(block.shape, np.int32)
        values = self._values[: len(block)]
        left_justified(np.ascontiguousarray(block.T), values)
        self.update_integers(values)

    def update_integers(self, values: NDArray[np.int32]) -> None:
        """The same for (frames, channels) int32, left-justified, as handed to a writer of integers."""
        self._as_integers.update(_bytes(np.ascontiguousarray(values, dtype="<i4")))

    def hexdigest(self) -> str:
        """BLAKE3 of the samples seen so far, in hexadecimal digits."""
        digest = self._as_floats if self._as_integers is None else self._as_integers
        return str(digest.hexdigest())


def _bytes(samples: NDArray[Any]) -> memoryview:
    return samples.reshape(-1).view(np.uint8).data
