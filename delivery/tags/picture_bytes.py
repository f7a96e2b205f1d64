"""A picture as the bytes of a file."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.Image import Image


def picture_bytes(picture: Image, form: str, **how: object) -> bytes:
    """*picture* as a file of *form* (``JPEG``, ``PNG``), with Pillow's own options; the same bytes each time."""
    from PIL import ImageFile

    into = io.BytesIO()
    # An optimised JPEG must fit into one buffer, and Pillow's own guess at its size is too small for fine grain.
    usual, ImageFile.MAXBLOCK = ImageFile.MAXBLOCK, max(ImageFile.MAXBLOCK, 4 * picture.width * picture.height)
    try:
        picture.save(into, form, **how)
    finally:
        ImageFile.MAXBLOCK = usual
    return into.getvalue()
