"""Build one song from its master alone: the command-line values become a release file beside it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from delivery.errors import Unusable
from delivery.intake import single_release_file
from delivery.pipeline.request import release_file_of


def release_file_for(path: Path, stated: Mapping[str, str], specs: tuple[str, ...]) -> Path | None:
    """Path of the release file for *path*; for a bare master, one is written from *stated*. None: there is none.

    Raises
    ------
    Unusable : values are stated although a release file exists
    """
    found = release_file_of(path)
    if found is None and path.is_file():
        return single_release_file(path, dict(stated), specs)
    if stated:
        remedy = "Edit the release file instead."
        raise Unusable(f"--{next(iter(stated))}", "an option of a single", "the master of a single", remedy)
    return found
