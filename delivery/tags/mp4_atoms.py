"""Check the atoms of an MP4 file (ISO/IEC 14496-12, 4.2) against the file before a library uses their sizes."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import BinaryIO

from delivery.tags.guard import broken

_HOLDERS = frozenset((b"moov", b"udta", b"trak", b"mdia", b"meta", b"ilst", b"stbl", b"minf", b"moof", b"traf"))
_DEEPEST, _MOST = 16, 65_536
_WANTED = "atoms that end inside the one that holds them"


def check(path: Path) -> None:
    """Follow every atom that can contain others.

    Raises
    ------
    Unusable : one ends beyond its parent or the file; too many atoms
    """
    with path.open("rb") as file:
        _walk(file, path, 0, file.seek(0, 2), 0, 0)


def _walk(file: BinaryIO, path: Path, at: int, end: int, depth: int, seen: int) -> int:
    """Number of atoms between *at* and *end*, plus *seen*."""
    while at < end:
        seen += 1
        if depth > _DEEPEST or seen > _MOST:
            raise broken(path, "atoms without end", _WANTED)
        file.seek(at)
        head = file.read(16)
        size, name = struct.unpack(">I4s", head[:8]) if len(head) >= 8 else (0, b"")
        inside = 8
        if size == 1 and len(head) == 16:
            (size,), inside = struct.unpack(">Q", head[8:]), 16
        elif size == 0 and name and depth == 0:
            size = end - at
        if size < inside or at + size > end:
            raise broken(path, f"an atom of {size} bytes where {end - at} are left", _WANTED)
        if name in _HOLDERS:
            seen = _walk(file, path, at + inside + (4 if name == b"meta" else 0), at + size, depth + 1, seen)
        at += size
    return seen
