"""AIFF and AIFF-C headers (Audio Interchange File Format 1.3, 1989; AIFF-C draft, 1991)."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import BinaryIO

from delivery.audio.chunks import chunks, refuse_short
from delivery.audio.facts import MOST_CHANNELS, PLAIN_BYTES, Header, Layout, unreadable
from delivery.audio.speakers import of_chan

FLOATS = (b"fl32", b"FL32", b"fl64", b"FL64")
PLAIN = (b"NONE", b"twos", b"sowt", *FLOATS)
MOST_POWER = 30
"""Numerator and denominator of a sample rate: at most a billion hertz."""
INTEGERS = (b"NONE", b"twos", b"sowt", b"raw ", b"in24", b"in32", b"24ni", b"23ni")


def aiff_header(path: Path, file: BinaryIO, size_bytes: int) -> Header:
    """Raises Unreadable for a file without format or audio, or with less audio than stated."""
    common, positions, promised_bytes, present_bytes, sound_at = b"", b"", 0, -1, 0
    for name, at, promised in chunks(file, size_bytes, ">"):
        file.seek(at)
        if name == b"COMM":
            common = file.read(min(promised, 22))
        elif name == b"CHAN":  # from Apple's writers, with the content of CAF's
            positions = file.read(min(promised, 12 + 20 * MOST_CHANNELS))
        elif name == b"SSND":  # offset and block size, four bytes each, precede the samples
            offset = int.from_bytes(file.read(4), "big")
            sound_at, promised_bytes, present_bytes = (
                at + 8 + offset,
                promised - 8 - offset,
                size_bytes - at - 8 - offset,
            )
    if len(common) < 18:
        raise unreadable(path, "an AIFF without its common chunk")
    channels, frames, bits, exponent, mantissa = struct.unpack(">hIhHQ", common[:18])
    if frames and present_bytes < 0:
        raise unreadable(path, "an AIFF without a sound chunk")
    kind = _kind(file, common)
    coding = _coding(kind)
    lossless = coding in ("pcm", "float")
    frame_bytes = channels * ((bits + 7) // 8)
    rate_hz = _rate_hz(path, exponent, mantissa)
    needed = max(promised_bytes, frames * frame_bytes) if lossless else promised_bytes
    refuse_short(path, needed, max(present_bytes, 0), frame_bytes * rate_hz)
    layout = _layout(coding, kind, rate_hz, channels, bits, sound_at, frames)
    speakers, stated_bits = of_chan(positions, channels), bits if lossless else None
    return Header("aiff", "", coding, stated_bits, size_bytes=size_bytes, layout=layout, speakers=speakers)


def _rate_hz(path: Path, exponent: int, mantissa: int) -> int:
    """The 80-bit float of the common chunk (AIFF 1.3, appendix; sign, 15 bits of exponent, 64 bits of mantissa)."""
    power = (exponent & 0x7FFF) - 16383
    if exponent & 0x8000 or power > MOST_POWER:
        raise unreadable(path, "a header with an impossible sample rate")
    return round(mantissa * 2.0 ** (power - 63))


def _layout(
    coding: str, kind: bytes, rate_hz: int, channels: int, bits: int, sound_at: int, frames: int
) -> Layout | None:
    """Layout of plain samples; None if libsndfile must read them."""
    floats = coding == "float"
    sample_bytes = (bits + 7) // 8
    plain = kind in PLAIN and rate_hz and 0 < channels <= MOST_CHANNELS and sample_bytes in PLAIN_BYTES[floats]
    order = "<" if kind == b"sowt" else ">"
    return Layout(rate_hz, channels, sample_bytes, sound_at, frames, order, floats) if plain else None


def _kind(file: BinaryIO, common: bytes) -> bytes:
    file.seek(8)
    return common[18:22] if file.read(4) == b"AIFC" else b"NONE"


def _coding(kind: bytes) -> str:
    if kind in FLOATS:
        return "float"
    return "pcm" if kind in INTEGERS else kind.decode("latin-1").strip()
