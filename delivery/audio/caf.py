"""CAF headers (Apple Core Audio Format Specification 1.0): uncompressed audio in it is read without a library."""

from __future__ import annotations

import struct
from dataclasses import replace
from pathlib import Path
from typing import BinaryIO

from delivery.audio.chunks import refuse_short
from delivery.audio.facts import MOST_CHANNELS, PLAIN_BYTES, Header, Layout, unreadable
from delivery.audio.speakers import of_chan

FIRST_CHUNK, HEAD_BYTES, EDIT_COUNT_BYTES = 8, 12, 4
FLOATS, LITTLE_ENDIAN = 1, 2
"""Flags of linear PCM."""
MOST_CHAN_BYTES = 12 + 20 * MOST_CHANNELS
TO_THE_END = -1
"""Size of the data chunk of an unfinished recording; it must be the last chunk."""


def caf_header(path: Path, file: BinaryIO, size_bytes: int) -> Header:
    """Raises Unreadable for a file without description or audio, or with less audio than stated."""
    at, described, positions = FIRST_CHUNK, b"", b""
    while at + HEAD_BYTES <= size_bytes:
        file.seek(at)
        name, size = struct.unpack(">4sq", file.read(HEAD_BYTES))
        if name == b"desc":
            described = file.read(32)
        elif name == b"chan":
            positions = file.read(min(max(size, 0), MOST_CHAN_BYTES))
        elif name == b"data":
            begins = at + HEAD_BYTES + EDIT_COUNT_BYTES
            present = max(0, size_bytes - begins)
            promised = present if size == TO_THE_END else size - EDIT_COUNT_BYTES
            header = _header(path, described, begins, promised, present)
            channels = int.from_bytes(described[24:28], "big")
            return replace(header, speakers=of_chan(positions, channels))
        if size < 0:
            break
        at += HEAD_BYTES + size
    raise unreadable(path, "a CAF file without a data chunk")


def _header(path: Path, described: bytes, begins: int, promised: int, present: int) -> Header:
    if len(described) < 32:
        raise unreadable(path, "a CAF file that does not describe its sound before it")
    rate, kind, flags, frame_bytes, frames, channels, bits = struct.unpack(">d4sIIIII", described)
    size_bytes = begins + present
    if not 1 <= rate < 2**31:
        raise unreadable(path, "a header with an impossible sample rate")
    if not (kind == b"lpcm" and frames == 1 and 0 < channels <= MOST_CHANNELS):
        refuse_short(path, promised, present, 0)
        return Header("caf", size_bytes=size_bytes)
    floats, (sample_bytes, rest) = bool(flags & FLOATS), divmod(frame_bytes, channels)
    refuse_short(path, promised, present, frame_bytes * round(rate))
    coding = "float" if floats else "pcm"
    if rest or sample_bytes not in PLAIN_BYTES[floats] or bits != 8 * sample_bytes:
        return Header("caf", coding=coding, bits=bits, size_bytes=size_bytes)
    order = "<" if flags & LITTLE_ENDIAN else ">"
    layout = Layout(round(rate), channels, sample_bytes, begins, promised // frame_bytes, order, floats)
    return Header("caf", coding=coding, bits=bits, size_bytes=size_bytes, layout=layout)
