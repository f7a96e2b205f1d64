"""Covers in the sizes recipients require, all made from the original; never enlarged, never repaired."""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from delivery.errors import Unusable
from delivery.model.release import Artwork
from delivery.model.spec import Cover
from delivery.tags.orientation import UPRIGHT, orientation, upright
from delivery.tags.picture_bytes import picture_bytes

if TYPE_CHECKING:
    from PIL.Image import Image as Picture
    from PIL.ImageFile import ImageFile

QUALITIES = (95, 92, 88, 84, 80, 75, 70)
"""JPEG qualities, tried in order; below the last, artefacts show. Common practice, no source."""


def file_name(cover: Cover) -> str:
    """File name of the cover in a spec's folder."""
    return "cover.png" if cover.kind == "png" else "cover.jpg"


def why_not(artwork: Artwork | None, problem: str, cover: Cover) -> str:
    """Why such a cover cannot be made; empty if it can."""
    if artwork is None:
        return problem or "the release names no artwork"
    if min(artwork.width_px, artwork.height_px) < cover.side_px:
        return f"the original has {artwork.width_px} x {artwork.height_px} px, and nothing is enlarged"
    if artwork.width_px != artwork.height_px:
        return f"the original has {artwork.width_px} x {artwork.height_px} px, and how to crop it is for the designer"
    if artwork.mode not in ("rgb", "grey", "palette"):
        return f"the original is {artwork.mode}, and how its colours become rgb is for the designer"
    return ""


def turned(artwork: Artwork | None) -> str:
    """A sentence about a picture stored rotated; empty if it is upright."""
    if artwork is None or artwork.orientation == UPRIGHT:
        return ""
    return (
        f"{artwork.path.name} is stored turned or mirrored and relies on EXIF (orientation {artwork.orientation}) to "
        f"be shown upright, as {artwork.width_px} x {artwork.height_px} px. Covers are made upright from it; ask the "
        "designer for a file that is stored upright, because programs that ignore EXIF show this one turned."
    )


def embeddable(original: Path) -> bytes:
    """The original's own bytes; rotated upright if its EXIF orientation requires it.

    A rotated JPEG is encoded once more, at the best quality used for covers; PNG is lossless.
    """
    content = original.read_bytes()
    with _opened(content) as picture:
        kind = picture.format or ""
        if kind not in ("JPEG", "MPO", "PNG") or orientation(picture) == UPRIGHT:  # the others are never embedded
            return content
        profile = picture.info.get("icc_profile")
        if kind == "PNG":
            return picture_bytes(upright(picture), "PNG", icc_profile=profile, optimize=True)
        return _jpeg(upright(picture), profile, QUALITIES[0])


def made(original: Path, cover: Cover, max_bytes: int | None = None) -> bytes:
    """The picture at *cover*'s size and kind, upright; the original's own bytes if they already match.

    Reduced by Lanczos windowed sinc; the colour profile is kept. The same original gives the same bytes.

    Raises
    ------
    Unusable : no JPEG of acceptable quality is as small as *max_bytes*
    """
    from PIL import Image

    content = original.read_bytes()
    with _opened(content) as picture:
        as_wanted = picture.size == (cover.side_px, cover.side_px) and (picture.format or "").lower() == cover.kind
        if as_wanted and orientation(picture) == UPRIGHT and (max_bytes is None or len(content) <= max_bytes):
            return content
        profile = picture.info.get("icc_profile")
        reduced = upright(picture).convert("RGB").resize((cover.side_px, cover.side_px), Image.Resampling.LANCZOS)
    if cover.kind == "png":
        return picture_bytes(reduced, "PNG", icc_profile=profile, optimize=True)
    for quality in QUALITIES:
        found = _jpeg(reduced, profile, quality)
        if max_bytes is None or len(found) <= max_bytes:
            return found
    found_text, wanted = f"{len(found):,} bytes at JPEG quality {QUALITIES[-1]}", f"at most {max_bytes:,} bytes"
    raise Unusable(original.name, found_text, wanted, "Ask for a picture with less fine detail.")


@contextmanager
def _opened(content: bytes) -> Iterator[ImageFile]:
    """Open the picture, suppressing the library's warnings about odd but harmless metadata."""
    from PIL import Image

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with Image.open(io.BytesIO(content)) as picture:
            yield picture


def _jpeg(picture: Picture, profile: bytes | None, quality: int) -> bytes:
    return picture_bytes(picture, "JPEG", icc_profile=profile, quality=quality, subsampling=0, optimize=True)
