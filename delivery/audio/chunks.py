"""Shared by chunk-based headers: one pass through the chunk table, and a check of the stated sizes."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from delivery.audio.facts import clock, unreadable

UNKNOWN_SIZE = 0xFFFFFFFF
"""Written by a stream of unknown length; in RF64 and BW64 it refers to the 64-bit size."""


def chunks(file: BinaryIO, size_bytes: int, order: str) -> Iterator[tuple[bytes, int, int]]:
    """(id, first byte of the content, stated size) of each chunk whose header is present."""
    at = 12
    while at + 8 <= size_bytes:
        file.seek(at)
        name, promised = struct.unpack(f"{order}4sI", file.read(8))
        yield name, at + 8, promised
        at += 8 + promised + promised % 2


def refuse_short(path: Path, promised: int, present: int, bytes_a_second: int) -> None:
    """Refuse a file shorter than its header states, which libsndfile would shorten without an error."""
    if promised <= present:
        return
    if promised == UNKNOWN_SIZE:
        raise unreadable(path, "a header without the length of the sound, as left by a stream")
    reached = f"; the audio stops at {clock(present / bytes_a_second)}" if bytes_a_second else ""
    raise unreadable(path, f"{present} bytes of sound where the header promises {promised}{reached}")
