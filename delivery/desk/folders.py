"""What the desk may read: folders that the user opened, kept from one day to the next. Links and '..' are resolved."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from pathlib import Path

from delivery.errors import Unusable
from delivery.pipeline.sound_files import RELEASE_FILE

DEEP = 3
"""Folders below an opened one in which release files are looked for."""
MOST = 400
"""Folders looked at below an opened one: a whole disk may be opened."""


class Folders:
    """Opened folders, most recent first.

    Parameters
    ----------
    kept : file in which they are kept; None: nowhere
    """

    def __init__(self, kept: Path | None = None) -> None:
        self._kept = kept
        self._lock = threading.Lock()
        self._opened: list[Path] = [path for path in _read(kept) if path.is_dir()]

    def opened(self) -> tuple[Path, ...]:
        """The opened folders."""
        with self._lock:
            return tuple(self._opened)

    def open(self, typed: str | Path) -> Path:
        """Open a folder, or the folder of a release file.

        Raises
        ------
        Unusable : there is no such folder
        """
        path = Path(typed).expanduser()
        wanted = "the path of a folder that exists"
        if not str(typed).strip() or not path.is_absolute():
            raise Unusable(str(typed) or "folder", "no whole path", wanted, "Write it from the first '/' on.")
        try:
            path = path.resolve(strict=True)
        except (OSError, RuntimeError) as error:
            raise Unusable(str(typed), "nothing there", wanted, "Check the path.") from error
        folder = path if path.is_dir() else path.parent
        with self._lock:
            self._opened = [folder, *(one for one in self._opened if one != folder)]
            self._keep()
        return folder

    def forget(self, folder: Path) -> None:
        """Close an opened folder; nothing on the disk is changed."""
        with self._lock:
            self._opened = [one for one in self._opened if one != folder]
            self._keep()

    def holds(self, path: Path) -> bool:
        """True if *path*, links and '..' resolved, lies in an opened folder."""
        try:
            real = path.resolve()
        except (OSError, RuntimeError):
            return False
        return any(real.is_relative_to(folder) for folder in self.opened())

    def release_files(self) -> list[Path]:
        """Release files in the opened folders and up to three folders below, each once."""
        found = dict.fromkeys(file for folder in self.opened() for file in _release_files(folder))
        return [file for file in found if self.holds(file)]

    def named(self, name: str) -> list[Path]:
        """Folders of that name among the opened ones and up to three folders below, each once."""
        found = (path for folder in self.opened() for path in _tree(folder) if path.name == name)
        return [path for path in dict.fromkeys(found) if self.holds(path)]

    def _keep(self) -> None:
        from delivery.tasks.write import write_bytes

        if self._kept is not None:
            write_bytes(self._kept, json.dumps([str(path) for path in self._opened], indent=1).encode())


def _read(kept: Path | None) -> list[Path]:
    try:
        return [Path(str(path)) for path in json.loads(kept.read_text(encoding="utf-8"))] if kept else []
    except (OSError, ValueError, TypeError):
        return []


def _release_files(top: Path) -> Iterator[Path]:
    level, looked = [top], 0
    for _ in range(DEEP + 1):
        below: list[Path] = []
        for folder in level:
            looked += 1
            if looked > MOST:
                return
            if (folder / RELEASE_FILE).is_file():
                yield folder / RELEASE_FILE
            else:
                below += folders_in(folder)
        level = below


def _tree(top: Path) -> Iterator[Path]:
    """*top* and the folders below it, as far as release files are looked for."""
    level, looked = [top], 0
    for _ in range(DEEP + 1):
        below: list[Path] = []
        for folder in level:
            yield folder
            looked += 1
            if looked > MOST:
                return
            below += folders_in(folder)
        level = below


def folders_in(folder: Path) -> list[Path]:
    """Folders in *folder* by name, without hidden ones and links; none if it cannot be listed."""
    try:
        inside = [one for one in folder.iterdir() if not one.name.startswith(".")]
        return sorted(
            (one for one in inside if one.is_dir() and not one.is_symlink()), key=lambda one: one.name.casefold()
        )
    except OSError:
        return []
