"""Take a file over from an earlier package: a copy of its own, proven by its checksum; never a link."""

from __future__ import annotations

import hashlib
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO

from delivery.pack import system
from delivery.regular import open_regular

_CHUNK_BYTES = 1 << 20


def take_over(source: Path, target: Path, sha256: str) -> bool:
    """Make *target* with the bytes of *source*, which must have this SHA-256; False, with no *target*, if it has not.

    Blocks are shared where the file system can (reflink), else copied. An existing *target* is replaced.

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
    with opened as there, target.open("xb") as here:
        found = _digest(there, None if system.clone(there, here) else here)
    if found != sha256:
        target.unlink()
        return False
    return True


def _digest(source: BinaryIO, target: BinaryIO | None) -> str:
    """SHA-256 of *source*, copied into *target* on the way; empty if it cannot be read to its end."""
    digest = hashlib.sha256()
    while True:
        chunk = b""
        with suppress(OSError):  # # the earlier package is damaged: the file is made again
            chunk = source.read(_CHUNK_BYTES)
        if not chunk:
            return digest.hexdigest()
        digest.update(chunk)
        if target is not None:
            target.write(chunk)
