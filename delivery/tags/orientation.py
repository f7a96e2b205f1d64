"""How a picture's EXIF says it is to be turned. Programs differ in whether they obey, so nothing ships with it."""

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
"""What the library raises on EXIF that is no EXIF; the picture itself may be fine."""


def orientation(picture: Image) -> int:
    """1 to 8; 1 where nothing is stated or what is stated cannot be read.

    Ask before the pixels are loaded: on loading a TIFF the library turns it by itself.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            stated = picture.getexif().get(_TAG, UPRIGHT)
    except _DAMAGED:
        return UPRIGHT
    return int(stated) if isinstance(stated, int) and 1 <= stated <= 8 else UPRIGHT


def upright(picture: Image) -> Image:
    """The picture turned and mirrored as its EXIF states, without the statement; itself where nothing is stated."""
    from PIL import ImageOps

    return picture if orientation(picture) == UPRIGHT else ImageOps.exif_transpose(picture)
