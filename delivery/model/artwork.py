"""What is known of the cover picture."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Artwork:
    """Properties of the cover picture. Its kind is found from its content, not from its file name."""

    path: Path
    kind: str
    """'jpeg', 'png', 'tiff', 'webp' ..."""
    width_px: int
    height_px: int
    mode: str
    """'rgb', 'grey', 'cmyk', 'rgba', 'palette' ..."""
    size_bytes: int
    sha256: str
    profile: str = ""
    """Name of the colour profile inside; empty: none."""
    border_px: tuple[int, int, int, int] = (0, 0, 0, 0)
    """Rows or columns of one colour at the top, right, bottom and left edge."""
    finest_detail: float | None = None
    """Highest frequency of real detail, cycles per pixel: 0.5 if nothing is missing, None if unknown."""
    place: str = ""
    """'release.yaml:14', where it is named."""
    orientation: int = 1
    """EXIF orientation, 1 to 8; not 1: stored rotated or mirrored. Size and border are those of the upright picture."""
