"""Find the files named in a text, for any spelling of accents on disk and either slash."""

from __future__ import annotations

import os
import unicodedata
from pathlib import Path

from delivery.absolute import absolute


def composed(text: str) -> str:
    """NFC (Unicode Annex 15): one encoding for 'é', however it was typed or stored."""
    return unicodedata.normalize("NFC", text)


def find_beside(folder: Path, name: str) -> Path:
    """Absolute path of *name* as spelt on disk; as spelt in the text if there is no such file.

    Some systems store accents decomposed, some take any form; names are equal when their composed forms are.
    A backslash is tried as a folder separator if no file has it in its name.
    """
    folder = absolute(folder)
    plain = folder / name
    if _there(plain):
        return plain
    for spelling in (name, name.replace("\\", "/")):
        found = _walk(folder, Path(spelling))
        if found is not None:
            return found
    return plain


def named_beside(folder: Path, file: Path) -> str:
    """*file* as a text in *folder* names it: relative, so that both can be moved together; absolute on another drive.

    '..' leads out of the folder that a link points to, so links to the folders are followed where it is needed.
    """
    file, folder = absolute(file), absolute(folder)
    real = file.parent.resolve() / file.name
    for each, root in ((file, folder), (real, folder.resolve())):
        if each.is_relative_to(root):
            return each.relative_to(root).as_posix()
    try:
        return Path(os.path.relpath(real, folder.resolve())).as_posix()
    except ValueError:  # on another drive, on Windows
        return file.as_posix()


def _walk(folder: Path, name: Path) -> Path | None:
    at = Path(name.anchor) if name.is_absolute() else folder
    for step in name.parts[1:] if name.is_absolute() else name.parts:
        here = at / step
        found = here if _there(here) else _same_name(at, step)
        if found is None:
            return None
        at = found
    return at


def _there(path: Path) -> bool:
    try:
        return path.exists()
    except (OSError, ValueError):  # name too long for the disk, no permission, a NUL
        return False


def _same_name(folder: Path, step: str) -> Path | None:
    try:
        entries = sorted(folder.iterdir())
    except OSError:
        return None
    return next((entry for entry in entries if composed(entry.name) == composed(step)), None)


def identity(path: Path) -> tuple[object, ...]:
    """Equal for two names of one file: links, case-insensitive disks, accents encoded differently."""
    try:
        status = path.stat()
    except (OSError, ValueError):
        return (composed(str(path)),)
    return (status.st_dev, status.st_ino)
