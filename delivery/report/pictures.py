"""Artwork and logo as thumbnails for a sheet; a bad picture never stops the job."""

from __future__ import annotations

import warnings
from functools import lru_cache
from pathlib import Path
from typing import Any

from delivery.audio.isolated import Died, isolated
from delivery.tags.orientation import upright
from delivery.tags.picture_bytes import picture_bytes

LONGEST_PX = 420
MOST_PX = 200_000_000
"""A picture with more pixels is not decoded for a thumbnail."""


def small(path: Path | None) -> bytes | None:
    """The picture as a small JPEG on white, whatever it was; None when there is none or it cannot be read.

    It is decoded in a child process, which a damaged picture may crash; once, since every sheet shows the same.
    """
    if path is None:
        return None
    try:
        return _small_once(path, _stamp_of(path))
    except Died:
        return None


@lru_cache(maxsize=32)
def _small_once(path: Path, _stamp: tuple[int, ...]) -> bytes | None:
    """Raises Died."""
    return isolated(made_small, path)


def _stamp_of(path: Path) -> tuple[int, ...]:
    """What changes with the file; nothing where there is none."""
    try:
        found = path.stat()
    except OSError:
        return ()
    return found.st_size, found.st_mtime_ns, found.st_ctime_ns, found.st_ino


def made_small(path: Path) -> bytes | None:
    """The same in this process."""
    from PIL import Image, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # large pictures need no warning: their size is checked right below
            with Image.open(path) as picture:
                return _small(picture) if picture.width * picture.height <= MOST_PX else None
    except (OSError, ValueError, SyntaxError, UnidentifiedImageError, Image.DecompressionBombError):
        return None


def _small(picture: Any) -> bytes:
    from PIL import Image

    picture.draft("RGB", (LONGEST_PX, LONGEST_PX))
    picture.thumbnail((LONGEST_PX, LONGEST_PX))
    shown = upright(picture).convert("RGBA")
    paper = Image.new("RGBA", shown.size, "white")
    paper.alpha_composite(shown)
    return picture_bytes(paper.convert("RGB"), "JPEG", quality=86, optimize=True)
