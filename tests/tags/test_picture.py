"""What the header of a picture states, against Pillow, which decodes it."""

from __future__ import annotations

import io
import struct
from typing import Any

import pytest

from delivery.tags.picture import Picture, look


def made(kind: str, mode: str, **more: Any) -> bytes:
    from PIL import Image

    file = io.BytesIO()
    Image.new(mode, (300, 7)).save(file, kind, **more)
    return file.getvalue()


@pytest.mark.parametrize(
    ("kind", "mode", "more", "depth_bits"),
    [
        ("JPEG", "RGB", {}, 24),
        ("JPEG", "L", {"progressive": True}, 8),
        ("JPEG", "CMYK", {"exif": b"Exif\0\0" + bytes(5000)}, 32),
        ("PNG", "RGB", {}, 24),
        ("PNG", "RGBA", {}, 32),
        ("PNG", "L", {}, 8),
        ("PNG", "LA", {}, 16),
        ("PNG", "1", {}, 1),
        ("PNG", "I;16", {}, 16),
        ("PNG", "P", {"bits": 4}, 24),
    ],
)
def test_size_and_depth(kind: str, mode: str, more: dict[str, Any], depth_bits: int) -> None:
    """A palette counts as the colours in it (PNG specification: palette entries are 8-bit RGB)."""
    data = made(kind, mode, **more)
    assert look(data) == Picture(data, f"image/{kind.lower()}", 300, 7, depth_bits)


def test_tables_and_fill_bytes_before_the_frame() -> None:
    """ITU-T T.81 B.1.1.2, B.2.4: markers may be filled up with FF, and tables may be before the frame."""
    tables = b"".join(bytes([0xFF, 0xFF, marker]) + struct.pack(">H", 8) + b"\x63" * 6 for marker in (0xC4, 0xCC, 0xDB))
    frame = b"\xff\xc2" + struct.pack(">HBHHB", 17, 8, 40, 60, 3) + bytes(9)
    found = look(b"\xff\xd8" + tables + frame)
    assert found is not None
    assert (found.width_px, found.height_px, found.depth_bits) == (60, 40, 24)


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_a_picture_cut_anywhere_is_no_error(kind: str) -> None:
    data = made(kind, "RGB")
    found = [look(data[:length]) for length in range(len(data))]
    assert found[0] is None
    assert found[-1] is not None


@pytest.mark.parametrize("kind", ["GIF", "TIFF", "WEBP", "BMP"])
def test_other_kinds_are_none(kind: str) -> None:
    assert look(made(kind, "RGB")) is None
