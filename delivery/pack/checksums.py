"""All checksums of a file in one reading."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from blake3 import blake3

from delivery.errors import Unusable

_CHUNK_BYTES = 1 << 20


@dataclass(frozen=True, slots=True)
class Checksums:
    """SHA-256 (FIPS 180-4), MD5 (RFC 1321) and BLAKE3 of a file's bytes, lower-case hexadecimal."""

    sha256: str
    md5: str
    size_bytes: int
    blake3: str = ""
    """In no manifest; empty: not computed."""

    def by(self, algorithm: str) -> str:
        """Checksum by the name used in manifests: 'sha256' or 'md5'."""
        return {"sha256": self.sha256, "md5": self.md5}[algorithm]


def checksums(path: Path) -> Checksums:
    """All checksums and the size of *path*, read once in 1 MiB pieces.

    Raises
    ------
    Unusable : it cannot be read to its end
    """
    found, size_bytes = digests(path, ("sha256", "md5", "blake3"))
    return Checksums(found["sha256"], found["md5"], size_bytes, found["blake3"])


def _begun(algorithm: str) -> Any:
    return blake3() if algorithm == "blake3" else hashlib.new(algorithm, usedforsecurity=False)


def digests(path: Path, algorithms: Collection[str]) -> tuple[Mapping[str, str], int]:
    """Checksum of *path* for each algorithm (names as in hashlib, or 'blake3'), and its size in bytes.

    Raises
    ------
    Unusable : it cannot be read to its end
    """
    running: dict[str, Any] = {algorithm: _begun(algorithm) for algorithm in algorithms}
    size_bytes = 0
    chunk = memoryview(bytearray(_CHUNK_BYTES))
    try:
        with path.open("rb", buffering=0) as file:
            while count := file.readinto(chunk):
                size_bytes += count
                for digest in running.values():
                    digest.update(chunk[:count])
    except OSError as fault:
        found = fault.strerror or type(fault).__name__
        raise Unusable(
            path.name, found, "a file that can be read to its end", "Check the disk and the permissions."
        ) from fault
    return {algorithm: digest.hexdigest() for algorithm, digest in running.items()}, size_bytes
