"""Sony Wave64 headers: a WAV whose chunks have 16-byte names and 64-bit sizes (Sony Pictures Digital, 2003).

A size counts its own 24 bytes of name and size; chunks begin at whole multiples of eight bytes.
"""

from __future__ import annotations

import struct
from dataclasses import replace
from pathlib import Path
from typing import BinaryIO

from delivery.audio.facts import Header, unreadable
from delivery.audio.wave import with_data

RIFF = bytes.fromhex("726966662e91cf11a5d628db04c10000")
WAVE, FORMAT, DATA = (name + bytes.fromhex("f3acd3118cd100c04f8edb8a") for name in (b"wave", b"fmt ", b"data"))
HEAD_BYTES, FIRST_CHUNK = 24, 40


def w64_header(path: Path, file: BinaryIO, size_bytes: int) -> Header:
    """Raises Unreadable for a file without format or audio, or with less audio than stated."""
    at, form = FIRST_CHUNK, b""
    while at + HEAD_BYTES <= size_bytes:
        file.seek(at)
        name, size = struct.unpack("<16sQ", file.read(HEAD_BYTES))
        if size < HEAD_BYTES:
            break
        if name == FORMAT:
            form = file.read(min(size - HEAD_BYTES, 40))
        elif name == DATA:
            found = with_data(path, file, "W64", form, at + HEAD_BYTES, size - HEAD_BYTES)
            return replace(found, container="w64", riff_form="")
        at += -(-size // 8) * 8
    raise unreadable(path, "a Wave64 file without a data chunk")
