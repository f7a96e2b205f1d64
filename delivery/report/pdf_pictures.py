"""Artwork and logo: opened, made small, and never a reason to stop. What cannot be read is said in words."""

from __future__ import annotations

import warnings
from io import BytesIO
from pathlib import Path
from typing import Any

from PIL import Image, UnidentifiedImageError
from reportlab.lib.utils import ImageReader

from delivery.report.pdf_flow import Flow

LONGEST_PX = 420
MOST_PX = 200_000_000
"""A picture that says it has more is not unpacked for a thumbnail."""


def small(path: Path) -> bytes | None:
    """The picture as a small JPEG on white, whatever it was; None when it cannot be read."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # large pictures are no news: their size is asked right below
            with Image.open(path) as picture:
                return _small(picture) if picture.width * picture.height <= MOST_PX else None
    except (OSError, ValueError, SyntaxError, UnidentifiedImageError, Image.DecompressionBombError):
        return None


def _small(picture: Any) -> bytes:
    picture.draft("RGB", (LONGEST_PX, LONGEST_PX))
    picture.thumbnail((LONGEST_PX, LONGEST_PX))
    shown = picture.convert("RGBA")
    paper = Image.new("RGBA", shown.size, "white")
    paper.alpha_composite(shown)
    into = BytesIO()
    paper.convert("RGB").save(into, "JPEG", quality=86, optimize=True)
    return into.getvalue()


def draw(flow: Flow, data: bytes, x: float, y: float, width: float, height: float) -> tuple[float, float]:
    """Fit the picture into a box whose upper left corner is *x*, *y*; gives the size it took, in points."""
    reader = ImageReader(BytesIO(data))
    across, down = reader.getSize()
    scale = min(width / across, height / down)
    size = across * scale, down * scale
    foot = flow.sheet.height - y - size[1]
    flow.mark(lambda canvas: canvas.drawImage(reader, x, foot, *size))
    return size
