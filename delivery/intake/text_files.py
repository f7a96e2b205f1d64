"""Write small text files atomically."""

from __future__ import annotations

import os
import shutil
import threading
from contextlib import suppress
from pathlib import Path

from delivery.errors import Unfinished


def write_text(path: Path, text: str) -> None:
    """Replace *path* by *text* (UTF-8, line ends unchanged) in one step; permissions of an existing file are kept.

    Raises
    ------
    Unfinished : no permission, no space, no such folder; an existing file is unchanged
    """
    target = path.resolve()  # a symbolic link keeps its target
    try:
        _replace(target, text.encode("utf-8"))
    except OSError as error:
        from delivery.disk import no_space

        if full := no_space(error, target, len(text.encode("utf-8"))):
            raise full from error
        reason = error.strerror or type(error).__name__
        raise Unfinished(
            str(path),
            f"no way to write it ({reason})",
            "a folder with free space and permission",
            "Nothing was changed.",
        ) from error


def _replace(target: Path, content: bytes) -> None:
    hidden = target.with_name(f".{target.name[:40]}.{os.getpid()}-{threading.get_ident()}.tmp")
    hidden.unlink(missing_ok=True)  # left by an earlier process with the same number
    try:
        with hidden.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if target.exists():
            shutil.copymode(target, hidden)
        hidden.replace(target)
    except BaseException:  # an interrupt leaves no temporary file either
        with suppress(OSError):
            hidden.unlink()
        raise
