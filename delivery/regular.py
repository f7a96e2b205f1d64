"""Open files from outside: regular files only, of limited size.

A pipe, device or socket under the name of a master, cover or text file could block the program or never end, so it is
refused before a byte is read. Everything that reads masters, covers and text files opens them here.
"""

from __future__ import annotations

import errno
import os
import stat
from io import BufferedReader
from pathlib import Path

_KINDS = (
    (stat.S_ISDIR, errno.EISDIR, "Is a directory"),
    (stat.S_ISFIFO, errno.EINVAL, "a named pipe, not a file"),
    (stat.S_ISSOCK, errno.EINVAL, "a socket, not a file"),
    (stat.S_ISCHR, errno.EINVAL, "a device, not a file"),
    (stat.S_ISBLK, errno.EINVAL, "a device, not a file"),
)


def open_regular(path: Path) -> BufferedReader:
    """Open *path* for reading in binary. The caller closes it.

    Raises
    ------
    OSError : the system refused; with a plain ``strerror`` if *path* is a pipe, socket or device
    """
    # Without O_NONBLOCK, opening a pipe blocks until another process opens it for writing.
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0) | getattr(os, "O_CLOEXEC", 0)
    try:
        handle = os.open(path, flags)
    except OSError as problem:
        if problem.errno == errno.ENXIO:  # a socket, or a device without its hardware
            raise OSError(errno.ENXIO, "a socket or device, not a file", str(path)) from problem
        raise
    try:
        mode = os.fstat(handle).st_mode
        for is_kind, number, words in _KINDS:
            if is_kind(mode):
                raise OSError(number, words, str(path))
        return os.fdopen(handle, "rb")
    except BaseException:
        os.close(handle)
        raise


def read_regular(path: Path, most_bytes: int) -> bytes:
    """Read *path* whole, but at most *most_bytes* + 1 bytes: a longer result means the file is too large.

    The stated size is not used: virtual files (under /proc) state 0 and may never end.

    Raises
    ------
    OSError : as ``open_regular``
    """
    with open_regular(path) as file:
        return file.read(most_bytes + 1)
