"""How many bits of whole-number samples are really used."""

from __future__ import annotations

import sys

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import compiled

Array = NDArray[np.float64]

INTEGER_BITS = 32
STRETCH = 1024
LITTLE_ENDIAN = sys.byteorder == "little"


@compiled()
def _from_24_bit_pairs(words: NDArray[np.uint32], left: Array, right: Array) -> None:
    """Three words hold two frames of two channels."""
    groups = words.reshape((len(words) // 3, 3))
    lefts, rights = left.reshape((len(groups), 2)), right.reshape((len(groups), 2))
    up, far = np.uint32(8), np.uint32(16)
    most = np.uint32(24)
    for i in range(len(groups)):
        a, b, c = groups[i, 0], groups[i, 1], groups[i, 2]
        lefts[i, 0] = np.int32(a << up) * 2.0**-31
        rights[i, 0] = np.int32((a >> most) << up | b << far) * 2.0**-31
        lefts[i, 1] = np.int32((b >> far) << up | c << most) * 2.0**-31
        rights[i, 1] = np.int32((c >> up) << up) * 2.0**-31


@compiled()
def from_24_bits(raw: NDArray[np.uint8], planar: Array) -> None:
    """Interleaved little-endian integers of three bytes to (channels, frames) float64, full scale 1.0; exact."""
    channels, frames = planar.shape
    if channels == 2 and frames % 2 == 0 and frames and LITTLE_ENDIAN:
        _from_24_bit_pairs(raw[: 6 * frames].view(np.uint32), planar[0], planar[1])
        return
    for c in range(channels):
        row = planar[c]
        low, middle, high = raw[3 * c :], raw[3 * c + 1 :], raw[3 * c + 2 :].view(np.int8)
        apart = 3 * channels
        for i in range(frames):
            at = apart * i
            row[i] = (np.int32(high[at]) << 16 | np.int32(middle[at]) << 8 | np.int32(low[at])) * 2.0**-23


@compiled()
def left_justified(planar: Array, words: NDArray[np.int32]) -> None:
    """Exact integers of (channels, frames) multiples of 2**-31, interleaved into (frames, channels) int32."""
    scale = 2.0 ** (INTEGER_BITS - 1)
    if planar.shape[0] == 2:  # both at once fill whole words of the processor: twice as fast
        left, right, flat = planar[0], planar[1], words.reshape(-1)
        for i in range(len(left)):
            flat[2 * i], flat[2 * i + 1] = np.int32(left[i] * scale), np.int32(right[i] * scale)
        return
    for c in range(planar.shape[0]):
        row = planar[c]
        for i in range(len(row)):
            words[i, c] = np.int32(row[i] * scale)


@compiled()
def used_bits(planar: Array, least: int, enough: int) -> int:
    """Bits from the top down to the lowest one that is set in any sample, at least *least*; 0 for silence.

    Parameters
    ----------
    planar : (channels, frames) float64 holding multiples of 2**-31
    enough : the search ends when this many are found
    """
    used = least
    scale = 2.0 ** (INTEGER_BITS - 1)
    for c in range(planar.shape[0]):
        for start in range(0, planar.shape[1], STRETCH):
            if used >= enough:
                return used
            joined = 0
            for value in planar[c, start : start + STRETCH]:
                joined |= int(value * scale)
            if joined:
                zeros = 0
                while not joined >> zeros & 1:
                    zeros += 1
                used = max(used, INTEGER_BITS - zeros)
    return used


@compiled()
def whole_bits(planar: Array, least: int) -> int:
    """Bits that floats need as integers, at least *least*; -1 where one is no integer of 32 bits or passes full scale.

    The search ends with the first stretch that holds such a sample.

    Parameters
    ----------
    planar : (channels, frames) float64, full scale 1.0
    """
    used, scale = least, 2.0 ** (INTEGER_BITS - 1)
    for c in range(planar.shape[0]):
        for start in range(0, planar.shape[1], STRETCH):
            joined, inexact = 0, False
            for value in planar[c, start : start + STRETCH]:
                scaled = value * scale
                if not -scale <= scaled < scale:
                    return -1
                whole = int(scaled)
                inexact |= whole != scaled
                joined |= whole
            if inexact:
                return -1
            if joined:
                zeros = 0
                while not joined >> zeros & 1:
                    zeros += 1
                used = max(used, INTEGER_BITS - zeros)
    return used
