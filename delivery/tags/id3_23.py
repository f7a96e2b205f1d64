"""ID3v2.3 (1999), for players that support nothing newer: UTF-16 if Latin-1 is not enough, dates in its older frames.

It has no frame for the ℗ line, and of the original date the year alone: both get a TXXX frame of their own.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from delivery.model.figure import Measurement
from delivery.tags import id3

COLUMNS = id3.COLUMNS
read_columns = id3.read_columns
read_picture = id3.read_picture


def write(path: Path, values: Mapping[str, str], picture: bytes | None, measurement: Measurement | None) -> None:
    """As `id3.write`, in the older form.

    Raises
    ------
    Unusable, OSError : as `id3.write`
    """
    id3.write(path, values, picture, measurement, version=3)
