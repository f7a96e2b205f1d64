"""Where a path leads, as it is opened, shown, stored and compared."""

from __future__ import annotations

from pathlib import Path


def absolute(path: Path) -> Path:
    """The absolute path, without '..', so that its name is the file's or folder's own.

    ``Path.absolute`` keeps '..': a folder given as '..' would have that for a name. Links are followed only where '..'
    comes after one, because there the text of the path would lead elsewhere.
    """
    return path.resolve() if ".." in path.parts else path.absolute()
