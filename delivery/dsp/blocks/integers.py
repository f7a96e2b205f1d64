"""Integers of a file as floats, and floats as integers again."""

from __future__ import annotations

import sys

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.blocks._integers import in_bytes, in_words, narrowed, widened
from delivery.dsp.blocks._integers import left_justified as left_justified

SAMPLE_BYTES, FOUR_SAMPLES = 3, 12
"""Bytes of one sample and of four samples of 24 bits."""
STEREO_BYTES, TWO_FRAMES = 6, 12
"""Bytes of one frame and of two frames of two channels of 24 bits."""


def from_24_bits(raw: NDArray[np.uint8], planar: NDArray[np.float64]) -> None:
    """Interleaved little-endian integers of three bytes to (channels, frames) float64, full scale 1.0; exact."""
    quickly = len(raw) // TWO_FRAMES * TWO_FRAMES if len(planar) == 2 and sys.byteorder == "little" else 0
    if quickly:
        in_words(raw[:quickly].view(np.int32), planar)
    in_bytes(raw, planar, quickly // STEREO_BYTES)


def widened_24_bits(raw: NDArray[np.uint8]) -> NDArray[np.int32]:
    """Little-endian integers of three bytes to left-justified int32, in their order."""
    integers = np.zeros(len(raw) // SAMPLE_BYTES, np.int32)
    quickly = len(raw) // FOUR_SAMPLES * FOUR_SAMPLES if sys.byteorder == "little" else 0
    widened(raw[:quickly].view(np.int32), integers[: quickly // SAMPLE_BYTES])
    rest = integers[quickly // SAMPLE_BYTES :].view(np.uint8).reshape(-1, 4)
    rest[:, 1:] = raw[quickly:].reshape(-1, SAMPLE_BYTES)
    return integers


def narrowed_to_24_bits(integers: NDArray[np.int32]) -> NDArray[np.uint8]:
    """Left-justified int32 to little-endian integers of three bytes, in their order."""
    flat = np.ascontiguousarray(integers).reshape(-1)
    raw = np.empty(SAMPLE_BYTES * len(flat), np.uint8)
    quickly = len(flat) // 4 * 4 if sys.byteorder == "little" else 0
    narrowed(flat[:quickly], raw[: SAMPLE_BYTES * quickly].view(np.int32))
    raw[SAMPLE_BYTES * quickly :] = flat[quickly:].astype("<i4").view(np.uint8).reshape(-1, 4)[:, 1:].reshape(-1)
    return raw
