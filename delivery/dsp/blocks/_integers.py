"""Loops that turn the integers of a file into floats, and floats back into integers.

C types are declared in ``_integers.pxd``. Two channels have loops of their own, which the compiler turns into vectors.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
    from delivery.dsp.uncompiled import report

    report()

Array = NDArray[np.float64]
Bytes = NDArray[np.uint8]
Integers32 = NDArray[np.int32]

SCALE = 2.0**31
PER_SCALE = 2.0**-31


def in_words(words: Integers32, planar: Array) -> None:
    """Two channels of 24-bit integers, two frames in three words, into the first frames of (2, frames); exact."""
    with cython.nogil:
        _two_of_24_bits(words, planar[0], planar[1])


def widened(words: Integers32, integers: Integers32) -> None:
    """24-bit integers, four in three words, each to the top of a word of its own."""
    with cython.nogil:
        _widen(words, integers)


def narrowed(integers: Integers32, words: Integers32) -> None:
    """The upper 24 bits of each integer, four in three words: what ``widened`` takes apart."""
    with cython.nogil:
        _narrow(integers, words)


def in_bytes(raw: Bytes, planar: Array, begin: int) -> None:
    """Interleaved 24-bit integers from frame *begin* on, of any number of channels; exact."""
    with cython.nogil:
        for c in range(len(planar)):
            _one_of_24_bits(raw, c, len(planar), planar[c], begin)


def _two_of_24_bits(words: Integers32, left: Array, right: Array) -> None:
    """Each sample is moved to the top of a word."""
    for i in range(len(words) // 3):
        first, second, third = words[3 * i], words[3 * i + 1], words[3 * i + 2]
        a, b = first << 8, (second << 16) | ((first >> 16) & 0xFF00)
        c, d = (third << 24) | ((second >> 8) & 0xFFFF00), third & -256
        left[2 * i], left[2 * i + 1] = a * PER_SCALE, c * PER_SCALE
        right[2 * i], right[2 * i + 1] = b * PER_SCALE, d * PER_SCALE


def _widen(words: Integers32, integers: Integers32) -> None:
    for i in range(len(words) // 3):
        first, second, third = words[3 * i], words[3 * i + 1], words[3 * i + 2]
        integers[4 * i], integers[4 * i + 1] = first << 8, (second << 16) | ((first >> 16) & 0xFF00)
        integers[4 * i + 2], integers[4 * i + 3] = (third << 24) | ((second >> 8) & 0xFFFF00), third & -256


def _narrow(integers: Integers32, words: Integers32) -> None:
    for i in range(len(words) // 3):
        a, b, c, d = integers[4 * i], integers[4 * i + 1], integers[4 * i + 2], integers[4 * i + 3]
        words[3 * i] = ((a >> 8) & 0xFFFFFF) | ((b >> 8) << 24)
        words[3 * i + 1] = ((b >> 16) & 0xFFFF) | ((c >> 8) << 16)
        words[3 * i + 2] = ((c >> 24) & 0xFF) | (d & -256)


def _one_of_24_bits(raw: Bytes, c: int, channels: int, row: Array, begin: int) -> None:
    for i in range(begin, len(row)):
        at = 3 * (channels * i + c)
        low, middle, high = raw[at], raw[at + 1], raw[at + 2]
        row[i] = (((high ^ 128) - 128) * 65536 + middle * 256 + low) * 2.0**-23


def left_justified(planar: Array, integers: Integers32) -> None:
    """Exact integers of (channels, frames) multiples of 2**-31, interleaved into (frames, channels) int32."""
    with cython.nogil:
        if len(planar) == 2:
            _justify_two(planar[0], planar[1], integers)
        else:
            for c in range(len(planar)):
                _justify(planar[c], c, integers)


def _justify_two(left: Array, right: Array, integers: Integers32) -> None:
    for i in range(len(integers)):
        one, other = int(left[i] * SCALE), int(right[i] * SCALE)
        integers[i, 0], integers[i, 1] = one, other


def _justify(row: Array, c: int, integers: Integers32) -> None:
    for i in range(len(integers)):
        whole = int(row[i] * SCALE)
        integers[i, c] = whole
