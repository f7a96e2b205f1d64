"""AIFF and AIFF-C headers (Audio Interchange File Format 1.3, 1989; AIFF-C draft, 1991)."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import BinaryIO

from delivery.audio.chunks import chunks, refuse_short
from delivery.audio.facts import Header, unreadable

FLOATS = (b"fl32", b"FL32", b"fl64", b"FL64")
INTEGERS = (b"NONE", b"twos", b"sowt", b"raw ", b"in24", b"in32", b"24ni", b"23ni")


def aiff_header(path: Path, file: BinaryIO, size_bytes: int) -> Header:
    """Raises Unreadable for a file without format or sound, or with less sound than it promises."""
    common, promised_bytes, present_bytes = b"", 0, -1
    for name, at, promised in chunks(file, size_bytes, ">"):
        file.seek(at)
        if name == b"COMM":
            common = file.read(min(promised, 22))
        elif name == b"SSND":  # offset and block size, four bytes each, stand before the samples
            promised_bytes, present_bytes = promised - 8, size_bytes - at - 8
    if len(common) < 18:
        raise unreadable(path, "an AIFF without its common chunk")
    channels, frames, bits, exponent, mantissa = struct.unpack(">hIhHQ", common[:18])
    if frames and present_bytes < 0:
        raise unreadable(path, "an AIFF without a sound chunk")
    coding = _coding(file, common)
    lossless = coding in ("pcm", "float")
    frame_bytes = channels * ((bits + 7) // 8)
    rate_hz = mantissa * 2.0 ** ((exponent & 0x7FFF) - 16383 - 63)
    needed = max(promised_bytes, frames * frame_bytes) if lossless else promised_bytes
    refuse_short(path, needed, max(present_bytes, 0), round(frame_bytes * rate_hz))
    return Header("aiff", coding=coding, bits=bits if lossless else None, size_bytes=size_bytes)


def _coding(file: BinaryIO, common: bytes) -> str:
    file.seek(8)
    kind = common[18:22] if file.read(4) == b"AIFC" else b"NONE"
    if kind in FLOATS:
        return "float"
    return "pcm" if kind in INTEGERS else kind.decode("latin-1").strip()
