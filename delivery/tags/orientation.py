"""A picture's EXIF orientation. Programs differ in whether they apply it, so it is removed from shipped covers."""

from __future__ import annotations

import struct
import warnings
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.Image import Image

UPRIGHT = 1
_TAG = 0x0112
"""Exif 2.32, 'Orientation': 1 to 8, 1 as stored."""
_DAMAGED = (OSError, SyntaxError, ValueError, EOFError, LookupError, TypeError, struct.error)
"""Exceptions of the library on invalid EXIF; the picture itself may be valid."""


def orientation(picture: Image) -> int:
    """1 to 8; 1 if nothing is stated or the statement is unreadable.

    Call it before the pixels are loaded: on loading a TIFF the library rotates it by itself.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            stated = picture.getexif().get(_TAG, UPRIGHT)
    except _DAMAGED:
        return UPRIGHT
    return int(stated) if isinstance(stated, int) and 1 <= stated <= 8 else UPRIGHT


def upright(picture: Image) -> Image:
    """The picture rotated and mirrored as its EXIF states, without the EXIF tag; unchanged if nothing is stated."""
    from PIL import ImageOps

    return picture if orientation(picture) == UPRIGHT else ImageOps.exif_transpose(picture)
