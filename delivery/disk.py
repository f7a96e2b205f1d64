"""Messages about a full disk: which disk, how much is free, how much is needed, and what to do."""

from __future__ import annotations

import errno
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from delivery.errors import NoSpace

FULL = (errno.ENOSPC, errno.EDQUOT)
REMEDY = "Free some room or choose another disk; nothing was written."
ELSEWHERE = "Free some room, or set TMPDIR to a folder on another disk; nothing was written."


def no_space(error: BaseException, file: Path, needed_bytes: int | None = None, *, shown: str = "") -> NoSpace | None:
    """The message if *error*, raised while *file* was written, means a full disk; else None.

    Parameters
    ----------
    needed_bytes : of the whole file; None: not known here
    shown : what is printed as the place; empty: the name of *file*
    """
    if getattr(error, "errno", None) not in FULL:
        return None
    disk = disk_of(file)
    free = free_bytes(disk)
    wanted = f"{mb(needed_bytes)} for {file.name}" if needed_bytes else f"space for {file.name}"
    left = f": {mb(free)} free" if free is not None else ""
    temporary = Path(tempfile.gettempdir())
    remedy = ELSEWHERE if file.is_relative_to(temporary) and disk == disk_of(temporary) else REMEDY
    return NoSpace(shown or file.name, f"no space left on device, the disk at {disk}{left}", wanted, remedy, str(disk))


@contextmanager
def space_for(file: Path, needed_bytes: int | None = None) -> Iterator[None]:
    """Turn an error that means a full disk into NoSpace; every other one passes."""
    try:
        yield
    except OSError as error:
        full = no_space(error, file, needed_bytes)
        raise full or error from error


def disk_of(path: Path) -> Path:
    """The place where the disk of *path* is mounted; *path* need not exist."""
    there = next(each for each in (path, *path.parents) if each.exists() or each == each.parent)
    return next((each for each in (there, *there.parents) if os.path.ismount(each)), there)


def free_bytes(path: Path) -> int | None:
    """Free on the disk of *path*, which need not exist; None: the system does not say."""
    with suppress(OSError):
        return shutil.disk_usage(disk_of(path)).free
    return None


def mb(size_bytes: int) -> str:
    """'12.3 MB', '1.5 GB'."""
    return f"{size_bytes / 1e9:.1f} GB" if size_bytes >= 1e9 else f"{size_bytes / 1e6:.1f} MB"
