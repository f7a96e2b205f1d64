"""Take a file over from an earlier package: a copy of its own, proven by its checksum; never a link."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any, BinaryIO

from blake3 import blake3

from delivery.pack import system
from delivery.regular import open_regular

_CHUNK_BYTES = 1 << 18
"""Stays in the L2 cache between reading, hashing and writing."""


def take_over(source: Path, target: Path, sha256: str, blake3_hex: str = "") -> bool:
    """Make *target* with the bytes of *source*, which must have this checksum; False, with no *target*, if it has not.

    Blocks are shared where the file system can (reflink), else copied. An existing *target* is replaced.

    Parameters
    ----------
    blake3_hex : BLAKE3 of the same bytes, checked instead, because it is faster; empty: not known

    Raises
    ------
    OSError : *target* cannot be written
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    target.unlink(missing_ok=True)
    try:
        opened = open_regular(source)
    except OSError:
        return False
    with opened as there, target.open("xb", buffering=0) as here:
        begun = blake3() if blake3_hex else hashlib.sha256()
        found = _digest(there, None if system.clone(there, here) else here, begun)
        system.settle_file(here)  # now, while other files are copied, and not for all of them at the end
    if found != (blake3_hex or sha256):
        target.unlink()
        return False
    return True


def _digest(source: BinaryIO, target: BinaryIO | None, digest: Any) -> str:
    """Checksum of *source*, copied into *target* on the way; empty if it cannot be read to its end."""
    chunk = memoryview(bytearray(_CHUNK_BYTES))
    while True:
        try:
            count = source.readinto(chunk)  # type: ignore[attr-defined]
        except OSError:
            return ""  # the earlier package is damaged: the file is made again
        if not count:
            return str(digest.hexdigest())
        digest.update(chunk[:count])
        if target is not None:
            _write(target, chunk[:count])


def _write(target: BinaryIO, data: memoryview) -> None:
    """All of *data*: an unbuffered file may take less at once."""
    while data:
        data = data[target.write(data) :]
