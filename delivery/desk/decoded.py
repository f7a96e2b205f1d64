"""Masters decoded to WAV, which the browser cannot play themselves."""

from __future__ import annotations

import threading
from pathlib import Path

from delivery.desk.temporary import Temporary

MOST = 4
"""Decoded masters kept at a time: an hour at 24/96 has 2 GB."""


class Decoded:
    """Decoded masters in a folder that only the user can read, deleted when the desk ends."""

    def __init__(self, temporary: Temporary) -> None:
        self._temporary = temporary
        self._made: dict[tuple[Path, str], Path] = {}
        self._lock = threading.Lock()

    def of(self, path: Path, key: str) -> Path:
        """The WAV file of the master at *path*, of which *key* changes with its bytes.

        Raises
        ------
        Unreadable, Unfinished : it cannot be decoded, or not be written
        """
        from delivery.tasks.playable import write_wav

        with self._lock:
            known = self._made.pop((path, key), None)
            if known is None:
                folder = self._temporary.folder()
                known = folder / f"{key}.wav"
                try:
                    write_wav(path, known)
                except BaseException:
                    self._temporary.remove(folder)
                    raise
            self._made[path, key] = known
            while len(self._made) > MOST:
                self._temporary.remove(self._made.pop(next(iter(self._made))).parent)
            return known
