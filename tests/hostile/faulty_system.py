"""System calls of this process that fail at will: open, read, write, fsync, rename, stat, mkdir and listing.

Only files below one folder are affected. The raw layer of Python's files is replaced, so buffers above it are the real
ones. What C libraries do by themselves (SQLite, libsndfile when it writes) is not seen here; a really full disk is
tried in ``test_disk_faults``.
"""

from __future__ import annotations

import builtins
import errno
import io
import os
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

SHORT = 0
"""Instead of an error number: half of the bytes, as a slow network disk or a signal may give them."""
FAULTS = {
    "open": (errno.EIO, errno.EACCES),
    "create": (errno.EIO, errno.ENOSPC, errno.EACCES),
    "read": (errno.EIO, SHORT),
    "write": (errno.EIO, errno.ENOSPC, SHORT),
    "fsync": (errno.EIO, errno.ENOSPC),
    "rename": (errno.EIO, errno.ENOSPC, errno.EACCES),
    "mkdir": (errno.EIO, errno.ENOSPC, errno.EACCES),
    "list": (errno.EIO, errno.EACCES),
    "stat": (errno.EIO, errno.EACCES),
}
FULL = ("create", "write", "fsync", "rename", "mkdir")
"""A disk that was full once stays so: all of these fail from then on."""


@dataclass
class FaultySystem:
    """Counts calls on files below *root*; number *fail_at* fails with *error*.

    Parameters
    ----------
    fail_at : from 1; 0: none
    error : an error number, or SHORT
    """

    root: Path
    fail_at: int = 0
    error: int = errno.EIO
    calls: list[str] = field(default_factory=list)
    """The kind of each."""
    failed: str = ""
    """Kind and file of the call that failed."""
    handles: set[int] = field(default_factory=set)

    def holds(self, file: Any) -> bool:
        if isinstance(file, int):
            return file in self.handles
        name = os.fsdecode(file) if isinstance(file, bytes | str | os.PathLike) else ""
        return os.path.abspath(name).startswith(str(self.root))  # noqa: PTH100 - a Path method might stat

    def call(self, kind: str, file: Any = None, *, named: bool = True) -> bool:
        """Count one call; whether it must do only half.

        Raises
        ------
        OSError : it is the one that fails
        """
        self.calls.append(kind)
        stays_full = self.error == errno.ENOSPC and kind in FULL and 0 < self.fail_at < len(self.calls)
        if len(self.calls) != self.fail_at and not stays_full:
            return False
        self.failed = self.failed or f"{kind} {file}"
        if self.error == SHORT:
            return True
        words = os.strerror(self.error)
        raise OSError(self.error, words, os.fspath(file)) if named else OSError(self.error, words)

    def install(self, patch: pytest.MonkeyPatch) -> None:
        for module in (io, builtins):
            patch.setattr(module, "open", self._opened(io.open))
        patch.setattr(os, "open", self._os_opened(os.open))
        patch.setattr(os, "close", self._closed(os.close))
        for name, kind in [("mkdir", "mkdir"), ("scandir", "list"), ("listdir", "list"), ("stat", "stat")]:
            patch.setattr(os, name, self._counted(getattr(os, name), kind))
        for name, kind in [("lstat", "stat"), ("fstat", "stat"), ("fsync", "fsync")]:
            patch.setattr(os, name, self._counted(getattr(os, name), kind))
        for name in ("rename", "replace"):
            patch.setattr(os, name, self._counted(getattr(os, name), "rename"))

    def _counted(self, function: Callable[..., Any], kind: str) -> Callable[..., Any]:
        def counted(file: Any = ".", *args: Any, **kwargs: Any) -> Any:
            if self.holds(file):
                self.call(kind, file, named=not isinstance(file, int))
            return function(file, *args, **kwargs)

        return counted

    def _os_opened(self, real: Callable[..., int]) -> Callable[..., int]:
        def opened(path: Any, flags: int, *args: Any, **kwargs: Any) -> int:
            if not self.holds(path):
                return real(path, flags, *args, **kwargs)
            self.call("create" if flags & os.O_CREAT else "open", path)
            handle = real(path, flags, *args, **kwargs)
            self.handles.add(handle)
            return handle

        return opened

    def _closed(self, real: Callable[[int], None]) -> Callable[[int], None]:
        def closed(handle: int) -> None:
            self.handles.discard(handle)
            real(handle)

        return closed

    def _opened(self, real: Callable[..., Any]) -> Callable[..., Any]:
        def opened(file: Any, mode: str = "r", buffering: int = -1, *args: Any, **kwargs: Any) -> Any:
            if not self.holds(file):
                return real(file, mode, buffering, *args, **kwargs)
            if not isinstance(file, int):
                self.call("open" if "r" in mode else "create", file)
            closefd, opener = kwargs.pop("closefd", True), kwargs.pop("opener", None)
            raw = FaultyRaw(self, file, mode.replace("b", "").replace("t", ""), closefd, opener)
            if buffering == 0:
                return raw
            buffered: Any
            if "+" in mode:
                buffered = io.BufferedRandom(raw)
            else:
                buffered = io.BufferedReader(raw) if "r" in mode else io.BufferedWriter(raw)
            return buffered if "b" in mode else io.TextIOWrapper(buffered, *args, **kwargs)

        return opened


class FaultyRaw(io.FileIO):
    """The lowest layer of a Python file: each read and write is one system call."""

    def __init__(self, system: FaultySystem, file: Any, mode: str, closefd: bool, opener: Any) -> None:
        super().__init__(file, mode, closefd, opener)
        self._system = system

    def readinto(self, buffer: Any) -> int:
        memory = memoryview(buffer).cast("B")
        short = self._system.call("read", self.name, named=False)
        return super().readinto(memory[: max(1, len(memory) // 2)] if short else memory)

    def readall(self) -> bytes:
        pieces = []
        while piece := self.read(1 << 16):
            pieces.append(piece)
        return b"".join(pieces)

    def read(self, size: int | None = -1) -> bytes:
        if size is None or size < 0:
            return self.readall()
        memory = bytearray(size)
        return bytes(memory[: self.readinto(memory)])

    def write(self, data: Any) -> int:
        memory = memoryview(data).cast("B")
        short = self._system.call("write", self.name, named=False)
        return super().write(memory[: max(1, len(memory) // 2)] if short else memory)

    def close(self) -> None:
        if not self.closed and isinstance(self.name, int):
            self._system.handles.discard(self.name)
        super().close()
