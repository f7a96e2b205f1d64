"""Folders for a while, in a place that only the user can read: deleted when the desk ends, else at its next start."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from delivery.errors import Unfinished


class Temporary:
    """Temporary folders of one desk. What a desk that was killed has left in *place* is deleted first.

    Parameters
    ----------
    place : used by this desk alone; None: a new one among the system's temporary files
    """

    def __init__(self, place: Path | None = None) -> None:
        self._place = place
        if place is not None:
            shutil.rmtree(place, ignore_errors=True)

    def folder(self) -> Path:
        """A new folder that only the user can read.

        Raises
        ------
        Unfinished : it cannot be made
        """
        try:
            if self._place is None:
                self._place = Path(tempfile.mkdtemp(prefix="delivery-desk-"))
            self._place.mkdir(mode=0o700, parents=True, exist_ok=True)
            return Path(tempfile.mkdtemp(dir=self._place))
        except OSError as error:
            place, found = str(self._place or "temporary files"), error.strerror or type(error).__name__
            found = f"no way to make a temporary folder ({found})"
            raise Unfinished(place, found, "space on its disk", "Free some, and try again.") from error

    def remove(self, folder: Path | None) -> None:
        """Delete a folder given out before."""
        if folder is not None and self._place is not None and folder.parent == self._place:
            shutil.rmtree(folder, ignore_errors=True)

    def close(self) -> None:
        """Delete all of them."""
        if self._place is not None:
            shutil.rmtree(self._place, ignore_errors=True)
