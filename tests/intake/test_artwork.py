"""A picture is known by its content, decoded to its end, and refused clearly when it is not whole."""

from __future__ import annotations

import hashlib
import io
import random
import struct
import zlib
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from delivery.errors import Unusable
from delivery.intake import look_at_artwork
from delivery.intake.artwork import MAX_BYTES, looked_at


def picture(mode: str = "RGB", form: str = "PNG", size: tuple[int, int] = (61, 47), **how: Any) -> bytes:
    """A picture with detail in every row."""
    count = size[0] * size[1] * 4
    grain = Image.frombytes("RGBA", size, random.Random(1).randbytes(count))
    made = io.BytesIO()
    grain.convert(mode).save(made, form, **how)
    return made.getvalue()


def look(folder: Path, content: bytes, name: str = "cover") -> Any:
    path = folder / name
    path.write_bytes(content)
    return look_at_artwork(path)


def look_here(folder: Path, content: bytes) -> Any:
    """The same in this process, for hundreds of damaged pictures: each would end a child and start the next one."""
    path = folder / "cover"
    path.write_bytes(content)
    return looked_at(path)


@pytest.mark.parametrize(
    ("form", "mode", "kind", "text"),
    [
        ("JPEG", "RGB", "jpeg", "rgb"), ("JPEG", "L", "jpeg", "grey"), ("JPEG", "CMYK", "jpeg", "cmyk"),
        ("PNG", "RGB", "png", "rgb"), ("PNG", "RGBA", "png", "rgba"), ("PNG", "P", "png", "palette"),
        ("PNG", "1", "png", "grey"), ("PNG", "LA", "png", "grey-alpha"), ("PNG", "I;16", "png", "grey"),
        ("TIFF", "RGB", "tiff", "rgb"), ("TIFF", "CMYK", "tiff", "cmyk"), ("TIFF", "LAB", "tiff", "lab"),
        ("WEBP", "RGB", "webp", "rgb"), ("GIF", "P", "gif", "palette"), ("BMP", "RGB", "bmp", "rgb"),
    ],
)  # fmt: skip
def test_kind_and_mode_come_from_the_content(tmp_path: Path, form: str, mode: str, kind: str, text: str) -> None:
    if mode == "LAB":
        made = io.BytesIO()
        Image.new("LAB", (61, 47)).save(made, form)
        content = made.getvalue()
    elif mode == "I;16":
        made = io.BytesIO()
        Image.new("I;16", (61, 47), 300).save(made, form)
        content = made.getvalue()
    else:
        content = picture(mode, form)
    seen = look(tmp_path, content, "cover.jpg")  # whatever the name says
    assert (seen.kind, seen.mode, seen.width_px, seen.height_px) == (kind, text, 61, 47)
    assert seen.size_bytes == len(content)
    assert seen.sha256 == hashlib.sha256(content).hexdigest()
    assert seen.path == tmp_path / "cover.jpg"


@pytest.mark.parametrize("form", ["JPEG", "PNG", "TIFF", "WEBP"])
def test_a_picture_cut_off_anywhere_is_refused(tmp_path: Path, form: str) -> None:
    content = picture("RGB", form)
    for kept in [*range(1, len(content) - 12, 97), len(content) - 20]:
        with pytest.raises(
            Unusable, match=r"cover: found (a picture that is cut off or damaged|a file that is no pic)"
        ):
            look_here(tmp_path, content[:kept])


@pytest.mark.parametrize("missing", [1, 2, 3, 40])
def test_a_jpeg_without_its_end_is_refused(tmp_path: Path, missing: int) -> None:
    """ITU-T T.81, B.1.1.3: a compressed image ends with EOI; an embedded small picture has its own."""
    exif = b"Exif\0\0MM\0*\0\0\0\x08\0\0\0\0\0\0" + picture("RGB", "JPEG", (16, 16))
    content = picture("RGB", "JPEG", (300, 300), exif=exif)
    assert look(tmp_path, content).width_px == 300
    assert look(tmp_path, content + b"\0" * 9).width_px == 300
    with pytest.raises(Unusable, match="cut off or damaged"):
        look(tmp_path, content[:-missing])


def test_progressive_jpeg_cut_after_its_first_scan(tmp_path: Path) -> None:
    """It decodes to a blurred picture, and no decoder need complain."""
    content = picture("RGB", "JPEG", (200, 200), progressive=True)
    scans = [at for at in range(len(content) - 1) if content[at : at + 2] == b"\xff\xda"]
    assert len(scans) > 3
    with pytest.raises(Unusable, match="cut off or damaged"):
        look(tmp_path, content[: scans[3]])


def png(width_px: int, height_px: int) -> bytes:
    """ISO/IEC 15948 (PNG), 11.2: a right header and no more than one row of it."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    header = struct.pack(">IIBBBBB", width_px, height_px, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"\0" * 99)) + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(("side", "found"), [(30_000, "far more pixels"), (12_500, "12500 x 12500 px")])
def test_a_bomb_is_refused_unopened(tmp_path: Path, side: int, found: str) -> None:
    with pytest.raises(Unusable, match=rf"cover: found {found}.*wanted at most 150 million pixels"):
        look(tmp_path, png(side, side))


def test_large_is_not_yet_a_bomb(tmp_path: Path) -> None:
    """10,000 x 10,000 is above the library's own warning mark; only its missing rows are a fault here."""
    with pytest.raises(Unusable, match="cut off or damaged"):
        look(tmp_path, png(10_000, 10_000))


def test_a_changed_byte_never_makes_a_traceback(tmp_path: Path) -> None:
    chance = random.Random(7)
    whole = [
        picture("RGB", "PNG"),
        picture("RGB", "JPEG"),
        picture("P", "GIF"),
        picture("CMYK", "TIFF"),
        picture("RGB", "WEBP"),
    ]
    refused = 0
    for number in range(250):
        content = bytearray(whole[number % len(whole)])
        for _ in range(4):
            content[chance.randrange(len(content) if number % 2 else 60)] = chance.randrange(256)
        try:
            look_here(tmp_path, bytes(content))
        except Unusable:
            refused += 1
    assert refused > 50


@pytest.mark.parametrize(
    ("content", "found"),
    [
        (b"", "an empty file"),
        (b"not a picture at all", "a file that is no picture"),
        (b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 9 9\n", "a file that is no picture"),
        (b"%PDF-1.7\n", "a file that is no picture"),
        (b"8BPS\0\x01" + b"\0" * 60, "a file that is no picture"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "a file that is no picture"),
    ],
    ids=["empty", "text", "EPS", "PDF", "Photoshop", "SVG"],
)
def test_other_files_are_no_pictures(tmp_path: Path, content: bytes, found: str) -> None:
    with pytest.raises(Unusable, match=f"cover: found {found}"):
        look(tmp_path, content)


def test_absent_folder_and_giant(tmp_path: Path) -> None:
    with pytest.raises(Unusable, match=r"none\.jpg: found no such file"):
        look_at_artwork(tmp_path / "none.jpg")
    with pytest.raises(Unusable, match=r"no way to read it"):
        look_at_artwork(tmp_path)
    giant = tmp_path / "giant.png"
    with giant.open("wb") as file:
        file.truncate(MAX_BYTES + 1)
    with pytest.raises(Unusable, match=r"more than 268,435,456 bytes, wanted at most 268,435,456"):
        look_at_artwork(giant)


def test_profile_border_and_detail(tmp_path: Path) -> None:
    """The profile's own name (ICC.1, 'desc'); a line of one colour; noise has all the detail there can be."""
    from PIL import ImageCms

    noise = Image.frombytes("RGB", (400, 400), random.Random(1).randbytes(400 * 400 * 3))
    noise.paste((255, 255, 255), (0, 0, 400, 3))
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    path = tmp_path / "cover.png"
    noise.save(path, icc_profile=profile)
    look = look_at_artwork(path)
    assert (look.profile, look.border_px, look.finest_detail) == ("sRGB built-in", (3, 0, 0, 0), 0.5)
    noise.save(path, icc_profile=b"no profile at all")
    assert look_at_artwork(path).profile == "unreadable"


@pytest.mark.parametrize("mode", ["RGB", "RGBA", "L", "LA", "CMYK"])
@pytest.mark.parametrize("border", [(5, 9, 7, 8), (0, 70, 0, 66), (3, 0, 0, 0)])
def test_each_side_has_its_own_border(tmp_path: Path, mode: str, border: tuple[int, int, int, int]) -> None:
    """Counted from its edge, in any colours, and in more rows than are read at once."""
    top, right, bottom, left = border
    grain = Image.frombytes("RGBA", (300, 200), random.Random(2).randbytes(300 * 200 * 4)).convert("RGB")
    framed = Image.new("RGB", (left + 300 + right, top + 200 + bottom), (250, 250, 250))
    framed.paste(grain, (left, top))
    path = tmp_path / "cover"
    framed.convert(mode).save(path, "TIFF")
    assert looked_at(path).border_px == border
