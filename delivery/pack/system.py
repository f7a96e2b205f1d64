"""Differences between operating systems: locks, atomic renames, and flushing data to disk."""

from __future__ import annotations

import ctypes
import errno
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

_AT_FDCWD = -100
_RENAME_NOREPLACE = 1
_RENAME_EXCHANGE = 2
_FICLONE = 0x40049409
"""From linux/fs.h: _IOW(0x94, 9, int)."""
_MOST_AT_ONCE = 1 << 30
_FLUSHED_AT_ONCE = 8
"""File systems write many files' changes together: flushed side by side, they take little longer than one."""
_NOT_HERE = {errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EPERM}
"""Errors of file systems without these renames."""

_owned: set[Path] = set()
"""Locks of this process: the system's own locks do not exclude a process from itself."""


@contextmanager
def sole_owner(lock: Path) -> Iterator[bool]:
    """True while no other process holds *lock*; the lock ends with the process and leaves no file.

    Raises
    ------
    OSError : the file cannot be made
    """
    if lock in _owned:
        yield False
        return
    _owned.add(lock)
    try:
        file = _locked(lock)
        try:
            yield file is not None
        finally:
            if file is not None:
                _removed(lock, file)
    finally:
        _owned.discard(lock)


def move_new(old: Path, new: Path) -> None:
    """Rename *old* to *new*, which must not exist.

    Raises
    ------
    FileExistsError : it exists
    OSError : the rename failed
    """
    if not _renameat2(old, new, _RENAME_NOREPLACE):
        if os.path.lexists(new):  # a window of microseconds on systems without a single call for it
            raise FileExistsError(errno.EEXIST, "it already exists", str(new))
        old.rename(new)


def exchange(one: Path, other: Path) -> bool:
    """Swap two names in one step; False, with nothing done, if the system cannot (all but Linux)."""
    return _renameat2(one, other, _RENAME_EXCHANGE)


def clone(source: BinaryIO, target: BinaryIO) -> bool:
    """Share the blocks of *source* with the new file *target* until one of them is changed (FICLONE); False, with
    nothing done, where the file system or the operating system cannot."""
    if sys.platform != "linux":
        return False
    import fcntl

    try:
        fcntl.ioctl(target.fileno(), _FICLONE, source.fileno())
    except OSError:
        return False
    return True


def copy_in_kernel(source: BinaryIO, target: BinaryIO) -> None:
    """Copy what follows in *source* to *target* without passing through this process, as far as the system can.

    Both files stand behind what was copied. The caller copies the rest, and meets the fault that stopped this, if any.
    """
    if hasattr(os, "copy_file_range"):
        with suppress(OSError):
            while os.copy_file_range(source.fileno(), target.fileno(), _MOST_AT_ONCE):
                pass


def settle_file(file: BinaryIO) -> None:
    """Flush *file* to disk and give the memory of its pages back, where the system can: the next copy takes them again
    instead of new ones, and files that other programs use stay in memory."""
    os.fsync(file.fileno())
    if hasattr(os, "posix_fadvise"):
        with suppress(OSError):  # it is advice only
            os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)


def settle(path: Path) -> None:
    """Flush *path*, or every file and folder below it, to disk: a rename must not become durable before the data."""
    if not path.is_dir():
        _settle(path)
        return
    from concurrent.futures import ThreadPoolExecutor

    inside = sorted(path.rglob("*"), reverse=True)  # what is in a folder before the folder
    folders = [each for each in inside if each.is_dir()]
    with ThreadPoolExecutor(_FLUSHED_AT_ONCE) as threads:
        list(threads.map(_settle, (each for each in inside if each not in folders)))
    for folder in (*folders, path):
        settle_folder(folder)


def _settle(file: Path) -> None:
    handle = os.open(file, os.O_RDWR if sys.platform == "win32" else os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def settle_folder(folder: Path) -> None:
    """Flush a folder's list of names to disk; some systems and file systems do not support it."""
    if sys.platform == "win32":
        return
    with suppress(OSError):  # what was renamed into place is there, whether this succeeds or not
        file = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(file)
        finally:
            os.close(file)


def _locked(lock: Path) -> BinaryIO | None:
    """The lock's open file, or None if another process has it."""
    while True:
        file = lock.open("ab")
        if not _lock(file):
            file.close()
            return None
        try:
            still_named = os.path.lexists(lock) and os.path.samestat(os.fstat(file.fileno()), lock.stat())
        except OSError:
            _removed(lock, file)
            raise
        if still_named:
            return file
        file.close()  # its owner deleted it between our opening and our locking it


def _removed(lock: Path, file: BinaryIO) -> None:
    with suppress(OSError):  # Windows deletes no open file
        lock.unlink()
    file.close()
    if sys.platform == "win32":
        with suppress(OSError):
            lock.unlink()


def _lock(file: BinaryIO) -> bool:
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.lockf(file, fcntl.LOCK_EX | fcntl.LOCK_NB)  # held by the process: workers do not inherit it
    except OSError as fault:
        return fault.errno not in (errno.EACCES, errno.EAGAIN, errno.EDEADLK)  # else: a disk without locks
    return True


def _renameat2(old: Path, new: Path, flag: int) -> bool:
    """Linux's conditional rename; False if the system, its library or the file system lacks it."""
    if sys.platform != "linux":
        return False
    call = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if call is None:
        return False
    if call(_AT_FDCWD, os.fsencode(old), _AT_FDCWD, os.fsencode(new), flag) == 0:
        return True
    code = ctypes.get_errno()
    if code in _NOT_HERE:
        return False
    raise OSError(code, os.strerror(code), str(old), None, str(new))
