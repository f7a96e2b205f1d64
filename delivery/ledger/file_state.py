"""State of a file: the hash of its bytes, and what shows without reading it that they are still the same."""

from __future__ import annotations

import hashlib
from pathlib import Path

from delivery.errors import Unreadable
from delivery.regular import open_regular

SETTLED_NS = 2_000_000_000
"""Some disks store times in steps of two seconds: a file changed again within a step looks unchanged."""
Times = tuple[int, int, int]
"""Size in bytes, time of the last change of content and of the entry, in nanoseconds."""


def file_sha256(path: Path) -> str:
    """SHA-256 of a file's bytes, in hexadecimal, read in blocks (the GIL is free meanwhile).

    Raises
    ------
    Unreadable : it does not exist or cannot be read to its end
    """
    try:
        with open_regular(path) as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except FileNotFoundError as error:
        raise Unreadable(path.name, "no such file", "a sound file", f"Put it into {path.parent}.") from error
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise Unreadable(path.name, f"no way to read it ({reason})", "a readable file", "Check the file.") from error


def stamp(path: Path) -> Times | None:
    """Size and times of a file; None if there is none."""
    try:
        status = path.stat()
    except OSError:
        return None
    return status.st_size, status.st_mtime_ns, status.st_ctime_ns


def is_unchanged(path: Path, before: Times | None, begun_ns: int) -> bool:
    """True if the times of the file prove that its bytes are those of *before*, its state at *begun_ns*.

    False proves nothing: times are trusted only if they were two seconds old by then.
    """
    return before is not None and before == stamp(path) and begun_ns - max(before[1:]) > SETTLED_NS
