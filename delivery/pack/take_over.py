"""Take a file over from an earlier package: a copy of its own, proven by its checksum; never a link."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any, BinaryIO

from blake3 import blake3

from delivery.pack import system
from delivery.regular import open_regular

_CHUNK_BYTES = 1 << 22
"""Large: each piece has to wait for the interpreter, while another thread sets the sheets."""


def take_over(source: Path, target: Path, sha256: str, blake3_hex: str = "") -> bool:
    """Make *target* with the bytes of *source*, which must have this checksum; False, with no *target*, if it has not.

    Blocks are shared where the file system can (reflink), else copied; either way *target* itself is read and checked.
    An existing *target* is replaced.

    Parameters
    ----------
    blake3_hex : BLAKE3 of the same bytes, checked instead, because it is faster; empty: not known

    Raises
    ------
    OSError : *target* cannot be written, or not read again
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    target.unlink(missing_ok=True)
    try:
        opened = open_regular(source)
    except OSError:
        return False
    with opened as there, target.open("x+b", buffering=0) as here:
        whole = system.clone(there, here) or _copied(there, here)
        here.seek(0)
        found = _digest(here, blake3() if blake3_hex else hashlib.sha256()) if whole else ""
        system.settle_file(here)  # now, while other files are copied, and not for all of them at the end
    if found != (blake3_hex or sha256):
        target.unlink()
        return False
    return True


def _copied(source: BinaryIO, target: BinaryIO) -> bool:
    """Copy *source* into the empty *target*; False if it cannot be read to its end: the earlier package is damaged."""
    system.copy_in_kernel(source, target)
    chunk = memoryview(bytearray(_CHUNK_BYTES))
    while True:
        try:
            count = source.readinto(chunk)  # type: ignore[attr-defined]
        except OSError:
            return False
        if not count:
            return True
        _write(target, chunk[:count])


def _digest(file: BinaryIO, digest: Any) -> str:
    """Checksum of the rest of *file*."""
    chunk = memoryview(bytearray(_CHUNK_BYTES))
    while count := file.readinto(chunk):  # type: ignore[attr-defined]
        digest.update(chunk[:count])
    return str(digest.hexdigest())


def _write(target: BinaryIO, data: memoryview) -> None:
    """All of *data*: an unbuffered file may take less at once."""
    while data:
        data = data[target.write(data) :]
