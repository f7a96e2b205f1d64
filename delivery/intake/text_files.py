"""Writing small text files: the old one or the new one, never half of either."""

from __future__ import annotations

import os
import shutil
import threading
from contextlib import suppress
from pathlib import Path

from delivery.errors import Unfinished


def write_text(path: Path, text: str) -> None:
    """Replace *path* by *text* (UTF-8, line ends as they are) in one step; permissions of an old file stay.

    Raises
    ------
    Unfinished : no permission, no room, no such folder; what was there before is still there
    """
    target = path.resolve()  # a link keeps pointing where it did
    try:
        _replace(target, text.encode("utf-8"))
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise Unfinished(
            str(path), f"no way to write it ({reason})", "a folder with room and permission", "Nothing was changed."
        ) from error


def _replace(target: Path, content: bytes) -> None:
    hidden = target.with_name(f".{target.name[:40]}.{os.getpid()}-{threading.get_ident()}.tmp")
    hidden.unlink(missing_ok=True)  # of a process long gone that had our number
    try:
        with hidden.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if target.exists():
            shutil.copymode(target, hidden)
        hidden.replace(target)
    except BaseException:  # an interrupt leaves nothing behind either
        with suppress(OSError):
            hidden.unlink()
        raise
