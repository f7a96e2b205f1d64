"""Check the metadata blocks of a FLAC file (RFC 9639, 8.1) against the file before a library uses their sizes.

For a stated comment size of 4 GiB a library would allocate as much before it finds the file too short.
"""

from __future__ import annotations

import struct
from pathlib import Path
from typing import BinaryIO

from delivery.tags.guard import broken

_COMMENTS, _PICTURE = 4, 6
_BY_CONTENT = (_COMMENTS, _PICTURE)
"""Blocks whose inner sizes readers use, since large pictures have exceeded the 24 bits of their size field."""
MOST_BLOCKS = 4096
MOST_COMMENTS = 65_536
_WANTED = "blocks that end inside the file"


def check(path: Path) -> None:
    """Follow every block as readers do: comments and pictures by their inner sizes, all others by their size field.

    Raises
    ------
    Unusable : one extends beyond the file, or there are too many
    """
    with path.open("rb") as file:
        end = file.seek(0, 2)
        at = _start(file)
        for _ in range(MOST_BLOCKS):
            head = _read(file, at, 4)
            if len(head) < 4:
                raise broken(path, "blocks that never end", _WANTED)
            kind, size = head[0] & 0x7F, int.from_bytes(head[1:], "big")
            if kind not in _BY_CONTENT and at + 4 + size > end:
                raise broken(path, f"a block of {size} bytes that ends beyond the file", _WANTED)
            at += 4
            if kind == _COMMENTS:
                at = _comments(file, path, at, end)
            elif kind == _PICTURE:
                at = _picture(file, path, at, end)
            else:
                at += size
            if head[0] & 0x80:
                return
        raise broken(path, f"more than {MOST_BLOCKS} blocks", _WANTED)


def _start(file: BinaryIO) -> int:
    """Position after 'fLaC', and after a leading ID3 tag."""
    head = _read(file, 0, 10)
    if head[:3] != b"ID3" or len(head) < 10:
        return 4
    size = sum((byte & 0x7F) << shift for byte, shift in zip(head[6:10], (21, 14, 7, 0), strict=True))
    return 10 + size + 4


def _comments(file: BinaryIO, path: Path, at: int, end: int) -> int:
    at = _past(file, path, at, end, "<I")
    (count,) = struct.unpack("<I", _read(file, at, 4).rjust(4, b"\0"))
    if count > MOST_COMMENTS:
        raise broken(path, f"a list of {count} comments", f"at most {MOST_COMMENTS}")
    at += 4
    for _ in range(count):
        at = _past(file, path, at, end, "<I")
    return at


def _picture(file: BinaryIO, path: Path, at: int, end: int) -> int:
    at = _past(file, path, at + 4, end, ">I")  # after the kind: media type
    at = _past(file, path, at, end, ">I")  # description
    return _past(file, path, at + 16, end, ">I")  # width, height, depth and colours, then the picture itself


def _past(file: BinaryIO, path: Path, at: int, end: int, form: str) -> int:
    """End of the length-prefixed text or picture at *at*."""
    raw = _read(file, at, 4)
    size = struct.unpack(form, raw)[0] if len(raw) == 4 else 0
    if len(raw) < 4 or at + 4 + size > end:
        raise broken(path, f"a text or picture of {size} bytes that ends beyond the file", _WANTED)
    return int(at + 4 + size)


def _read(file: BinaryIO, at: int, size: int) -> bytes:
    file.seek(at)
    return file.read(size)
