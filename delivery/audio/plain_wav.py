"""Write uncompressed PCM into a WAV without a library: the bytes that libsndfile writes.

libsndfile takes three times as long at 24 bits, which it packs and hands to the system in pieces of 8 KB.
"""

from __future__ import annotations

import struct
from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.blocks.integers import narrowed_to_24_bits

if TYPE_CHECKING:
    from delivery.audio.pcm import PcmForm

Integers = NDArray[np.int32]

_PCM, _EXTENSIBLE = 1, 0xFFFE
_REST_OF_PCM_GUID = bytes.fromhex("000000001000800000aa00389b71")
_MASKS = {1: 0x4, 2: 0x3}
"""One channel stands in the centre, two are left and right; for more channels the form states the mask."""


def _in_16_bits(block: Integers) -> NDArray[np.int16]:
    return np.right_shift(block, 16, out=np.empty(block.shape, "<i2"), casting="unsafe")


PACKED: dict[int, Callable[[Integers], NDArray[np.generic]]] = {
    16: _in_16_bits,
    24: narrowed_to_24_bits,
    32: lambda block: np.ascontiguousarray(block, "<i4"),
}
"""Bit depth -> the samples of a block, (n, channels) int32 left-justified, as the file stores them."""


def header(form: PcmForm, frames: int) -> bytes:
    """All before the samples (Multimedia Programming Interface 1.0, 1991; extensible: Microsoft, 2001)."""
    frame_bytes, sound_bytes = form.data_bytes_a_frame, frames * form.data_bytes_a_frame
    tag = _EXTENSIBLE if form.extensible else _PCM
    fmt = struct.pack("<HHIIHH", tag, form.channels, form.rate_hz, form.rate_hz * frame_bytes, frame_bytes, form.bits)
    fact = b""
    if form.extensible:
        mask = _MASKS.get(form.channels, form.channel_mask)
        fmt += struct.pack("<HHIH", 22, form.bits, mask, _PCM) + _REST_OF_PCM_GUID
        fact = b"fact" + struct.pack("<II", 4, frames)
    chunks = b"fmt " + struct.pack("<I", len(fmt)) + fmt + fact + b"data" + struct.pack("<I", sound_bytes)
    return b"RIFF" + struct.pack("<I", 4 + len(chunks) + sound_bytes + sound_bytes % 2) + b"WAVE" + chunks
