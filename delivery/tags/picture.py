"""Kind and size of a JPEG or PNG from its first bytes, for the blocks that carry a cover. Decodes nothing. Pure."""

from __future__ import annotations

import struct
from dataclasses import dataclass

FRONT_COVER = 3
"""Picture type of ID3v2 and FLAC."""

_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_SAMPLES = {0: 1, 2: 3, 3: 3, 4: 2, 6: 4}
"""Samples per pixel by PNG colour type; a palette counts as three colours."""
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
"""JPEG markers that begin a frame (ITU-T T.81, table B.1)."""


@dataclass(frozen=True, slots=True)
class Picture:
    """An embedded picture, with the facts that tags state about it."""

    data: bytes
    mime: str
    width_px: int
    height_px: int
    depth_bits: int
    """Of one pixel, all samples together."""

    def __str__(self) -> str:
        return f"{self.mime}, {self.width_px} x {self.height_px}, {len(self.data)} bytes"


def look(data: bytes) -> Picture | None:
    """The picture's kind and size; None if it is neither a JPEG nor a PNG, the two that players show."""
    if data.startswith(_PNG) and data[12:16] == b"IHDR" and len(data) >= 26:
        width, height, bits, colour = struct.unpack_from(">IIBB", data, 16)
        bits = 8 if colour == 3 else bits
        return Picture(data, "image/png", width, height, bits * _PNG_SAMPLES.get(colour, 1))
    return _jpeg(data) if data.startswith(b"\xff\xd8\xff") else None


def _jpeg(data: bytes) -> Picture | None:
    at = 2
    while at + 9 < len(data) and data[at] == 0xFF:
        marker, length = data[at + 1], struct.unpack_from(">H", data, at + 2)[0]
        if marker in _FRAMES:
            bits, height, width, samples = struct.unpack_from(">BHHB", data, at + 4)
            return Picture(data, "image/jpeg", width, height, bits * samples)
        at += 1 if marker == 0xFF else 2 + length  # any number of FF may precede a marker
    return None
