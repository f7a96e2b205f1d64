"""What the headers made of chunks have in common: the pass through the table, and the promise that must be kept."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from delivery.audio.facts import clock, unreadable

UNKNOWN_SIZE = 0xFFFFFFFF
"""Left by a stream that never learnt its length; in RF64 and BW64 it points to the long size."""


def chunks(file: BinaryIO, size_bytes: int, order: str) -> Iterator[tuple[bytes, int, int]]:
    """(id, first byte of the content, promised size) of each chunk whose header is there."""
    at = 12
    while at + 8 <= size_bytes:
        file.seek(at)
        name, promised = struct.unpack(f"{order}4sI", file.read(8))
        yield name, at + 8, promised
        at += 8 + promised + promised % 2


def refuse_short(path: Path, promised: int, present: int, bytes_a_second: int) -> None:
    """libsndfile quietly shortens a file whose header promises more than it holds; here that is an error."""
    if promised <= present:
        return
    if promised == UNKNOWN_SIZE:
        raise unreadable(path, "a header without the length of the sound, as left by a stream")
    reached = f"; the sound stops at {clock(present / bytes_a_second)}" if bytes_a_second else ""
    raise unreadable(path, f"{present} bytes of sound where the header promises {promised}{reached}")
