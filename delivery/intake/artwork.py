"""Inspect the cover picture: decoded to its last row, so that the result is valid for the whole picture."""

from __future__ import annotations

import hashlib
import io
import struct
import warnings
import zlib
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from delivery.audio.isolated import Died, isolated
from delivery.errors import Unusable
from delivery.model.artwork import Artwork
from delivery.regular import read_regular
from delivery.tags.orientation import orientation, upright

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from PIL.Image import Image

MAX_BYTES = 256 * 1024 * 1024
MOST_LOOKED_AT = 40_000_000
"""Pixels up to which borders and detail are examined; larger pictures would take seconds and gigabytes."""
MAX_PIXELS = 150_000_000
"""12,000 x 12,000 and a little: four times the largest side required by any recipient found; 0.5 GB decoded."""

KINDS = {
    "JPEG": "jpeg", "MPO": "jpeg", "PNG": "png", "TIFF": "tiff", "WEBP": "webp", "GIF": "gif", "BMP": "bmp",
    "JPEG2000": "jpeg2000", "AVIF": "avif",
}  # fmt: skip
"""Formats the library may try; the rest (page descriptions, layered project files) are not cover pictures."""

MODES = {
    "1": "grey", "L": "grey", "I": "grey", "F": "grey", "I;16": "grey", "I;16B": "grey", "I;16L": "grey",
    "LA": "grey-alpha", "La": "grey-alpha", "P": "palette", "PA": "palette", "RGB": "rgb", "RGBA": "rgba",
    "RGBa": "rgba", "RGBX": "rgb", "CMYK": "cmyk", "YCbCr": "ycbcr", "LAB": "lab", "HSV": "hsv",
}  # fmt: skip

BROKEN = (
    OSError, SyntaxError, ValueError, EOFError, LookupError, TypeError, ArithmeticError, MemoryError,
    struct.error, zlib.error,
)  # fmt: skip
"""Exceptions the library raises on damaged pictures; it has no class of its own for them."""


def look_at_artwork(path: Path) -> Artwork:
    """Kind (by content, not by name), size when upright, colour mode, bytes and SHA-256 of a picture.

    It is decoded in a child process, since a damaged picture may crash the decoder.

    Raises
    ------
    Unusable : no such file, not a picture, cut off or damaged, or too large to open safely
    """
    try:
        return isolated(looked_at, path)
    except Died as death:
        raise _damaged(path.name, f" (its decoder {death})") from death


def looked_at(path: Path) -> Artwork:
    """The same in this process; raises as ``look_at_artwork``."""
    content = _content(path)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # warnings of odd but harmless metadata, and of sizes judged below
        looked = _decoded(content, path.name)
    return replace(looked, path=path, size_bytes=len(content), sha256=hashlib.sha256(content).hexdigest())


def _content(path: Path) -> bytes:
    try:
        content = read_regular(path, MAX_BYTES)
        if len(content) > MAX_BYTES:
            found = f"more than {MAX_BYTES:,} bytes"
            raise Unusable(path.name, found, f"at most {MAX_BYTES:,}", "Export a smaller picture.")
    except FileNotFoundError as error:
        raise Unusable(path.name, "no such file", "the cover picture", "Check the name under 'artwork'.") from error
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise Unusable(path.name, f"no way to read it ({reason})", "a readable picture", "Check the file.") from error
    if not content:
        raise Unusable(path.name, "an empty file", "the cover picture", "Copy it again from where it came.")
    return content


def _decoded(content: bytes, name: str) -> Artwork:
    from PIL import Image, UnidentifiedImageError

    try:
        with _opened(content) as picture:
            _refuse_bomb(picture, name)
            kind = KINDS[picture.format or ""]
            mode = MODES.get(picture.mode, picture.mode.lower())
            turn = orientation(picture)
            picture.load()
            described = replace(_described(upright(picture)), orientation=turn)
    except UnidentifiedImageError as error:
        raise Unusable(
            name, "a file that is no picture", "JPEG, PNG, TIFF or WebP", "Name the exported cover, not its project."
        ) from error
    except Image.DecompressionBombError as error:
        raise _too_large(name, "far more pixels than any cover has") from error
    except BROKEN as error:
        raise _damaged(name) from error
    if not _has_its_end(kind, content):
        raise _damaged(name)
    return replace(described, kind=kind, mode=mode)


def _opened(content: bytes) -> Image:
    from PIL import Image, UnidentifiedImageError

    try:
        Image.preinit()
        return Image.open(io.BytesIO(content), formats=_known_formats())
    except UnidentifiedImageError:
        Image.init()  # the other formats, which few covers have: loading them takes half as long as decoding a cover
        return Image.open(io.BytesIO(content), formats=_known_formats())


def _known_formats() -> list[str]:
    """Of those loaded: some builds of the library lack a format."""
    from PIL import Image

    return [form for form in KINDS if form in Image.OPEN]


def _described(picture: Image) -> Artwork:
    """Size, profile, border and detail of a decoded picture; the caller adds the rest."""
    import numpy as np

    from delivery.dsp.pictures import finest_detail

    width_px, height_px = picture.size
    bare = Artwork(Path(), "", width_px, height_px, "", 0, "", _profile(picture))
    if width_px * height_px > MOST_LOOKED_AT or picture.mode == "LAB":  # which the library converts to nothing
        return bare
    detail = finest_detail(np.asarray(picture.convert("L"), dtype=np.uint8))
    return replace(bare, border_px=_border_px(picture), finest_detail=detail)


def _border_px(picture: Image) -> tuple[int, int, int, int]:
    """Without a copy of the whole picture: its edges decide."""
    import numpy as np

    from delivery.dsp.pictures import border_px

    mode = "RGBA" if "A" in picture.mode or "transparency" in picture.info else "RGB"

    def part(left: int, top: int, right: int, bottom: int) -> NDArray[np.uint8]:
        return np.asarray(picture.crop((left, top, right, bottom)).convert(mode), dtype=np.uint8)

    return border_px(part, *picture.size)


def _profile(picture: Image) -> str:
    """Name of the colour profile; 'unreadable' for a damaged one."""
    content = picture.info.get("icc_profile")
    if not content:
        return ""
    from PIL import ImageCms

    try:
        name = ImageCms.getProfileDescription(ImageCms.ImageCmsProfile(io.BytesIO(content)))
    except (ImageCms.PyCMSError, *BROKEN):
        return "unreadable"
    return " ".join(name.split())


def _refuse_bomb(picture: Image, name: str) -> None:
    width_px, height_px = picture.size
    if width_px * height_px > MAX_PIXELS:
        raise _too_large(name, f"{width_px} x {height_px} px")


def _too_large(name: str, found: str) -> Unusable:
    return Unusable(name, found, f"at most {MAX_PIXELS // 1_000_000} million pixels", "Export a smaller picture.")


def _damaged(name: str, how: str = "") -> Unusable:
    return Unusable(name, f"a picture that is cut off or damaged{how}", "a whole picture", "Copy or export it again.")


def _has_its_end(kind: str, content: bytes) -> bool:
    """True if the picture ends properly: decoders accept a file once all rows are present, or fill missing ones with
    grey.

    JPEG (ITU-T T.81, B.1.1.3): the last scan (SOS) is followed by an end marker (EOI). PNG (ISO/IEC 15948, 11.2.5): an
    empty IEND chunk, whose check value never changes, is the last one.
    """
    if kind == "jpeg":
        return content.rfind(b"\xff\xd9") > content.rfind(b"\xff\xda")
    return kind != "png" or b"\0\0\0\0IEND\xae\x42\x60\x82" in content
