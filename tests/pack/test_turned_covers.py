"""Covers whose EXIF says that they are stored turned: judged, shown, made and embedded upright."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from delivery.intake import look_at_artwork
from delivery.model.spec import Cover
from delivery.pack.cover import embeddable, made, turned
from delivery.pipeline import Options, build, check, resolve_request
from delivery.report.pictures import small
from tests.albums import Song, write_album, write_spec

FIRST_ROW_AND_COLUMN = {
    1: ("top", "left"), 2: ("top", "right"), 3: ("bottom", "right"), 4: ("bottom", "left"),
    5: ("left", "top"), 6: ("right", "top"), 7: ("right", "bottom"), 8: ("left", "bottom"),
}  # fmt: skip
"""Exif 2.32, 4.6.4, 'Orientation': which visual side the stored row 0 and column 0 are."""


def quarters(side: int = 128) -> Any:
    """Red at the top left, green at the top right, blue at the bottom left, white at the bottom right."""
    half = side // 2
    picture = np.zeros((side, side, 3), np.uint8)
    picture[:half, :half] = (255, 0, 0)
    picture[:half, half:] = (0, 255, 0)
    picture[half:, :half] = (0, 0, 255)
    picture[half:, half:] = (255, 255, 255)
    return picture


def stored(upright: Any, orientation: int) -> Any:
    """As a file with this orientation holds *upright*: its first row and column are the sides the standard names."""
    row, column = FIRST_ROW_AND_COLUMN[orientation]
    if row in ("left", "right"):
        upright = upright.transpose(1, 0, 2)
    upright = upright[::-1] if row in ("bottom", "right") else upright
    return upright[:, ::-1] if column in ("right", "bottom") else upright


def write(path: Path, upright: Any, orientation: int) -> Path:
    exif = Image.Exif()
    exif[0x0112] = orientation
    how: dict[str, Any] = {"quality": 95, "subsampling": 0} if path.suffix == ".jpg" else {}
    Image.fromarray(np.ascontiguousarray(stored(upright, orientation))).save(path, exif=exif, **how)
    return path


def corners(content: bytes) -> list[str]:
    """Colours at the corners as stored, whatever EXIF states; and EXIF without an orientation."""
    names = {(True, False, False): "red", (False, True, False): "green", (False, False, True): "blue",
             (True, True, True): "white"}  # fmt: skip
    with Image.open(io.BytesIO(content)) as picture:
        assert picture.getexif().get(0x0112, 1) == 1
        seen = np.asarray(picture.convert("RGB")) > 127
    at = ((5, 5), (5, -5), (-5, 5), (-5, -5))
    return [names[tuple(map(bool, seen[row, column]))] for row, column in at]  # type: ignore[index]


UPRIGHT = ["red", "green", "blue", "white"]


@pytest.mark.parametrize("suffix", [".jpg", ".png", ".tif", ".webp"])
@pytest.mark.parametrize("orientation", FIRST_ROW_AND_COLUMN)
def test_covers_are_made_upright(tmp_path: Path, orientation: int, suffix: str) -> None:
    path = write(tmp_path / f"cover{suffix}", quarters(), orientation)
    assert look_at_artwork(path).orientation == orientation
    for cover in (Cover(128), Cover(64), Cover(64, "png")):
        assert corners(made(path, cover)) == UPRIGHT
    assert corners(small(path) or b"") == UPRIGHT
    if suffix in (".jpg", ".png"):
        assert corners(embeddable(path)) == UPRIGHT
        assert (embeddable(path) == path.read_bytes()) == (orientation == 1)


@pytest.mark.parametrize("orientation", FIRST_ROW_AND_COLUMN)
def test_size_and_border_are_those_of_the_upright_picture(tmp_path: Path, orientation: int) -> None:
    """A picture 60 px wide and 40 px high with two black rows at its top, however it is stored."""
    noise = np.random.default_rng(1).integers(60, 255, (40, 60, 3)).astype(np.uint8)
    noise[:2] = 0
    found = look_at_artwork(write(tmp_path / "cover.png", noise, orientation))
    assert (found.width_px, found.height_px, found.border_px) == (60, 40, (2, 0, 0, 0))
    assert bool(turned(found)) == (orientation != 1)


def test_damaged_exif_is_no_damaged_picture(tmp_path: Path) -> None:
    path = tmp_path / "cover.jpg"
    Image.fromarray(quarters()).save(path, exif=b"Exif\0\0MM\0*\xff\xff\xff\xff")
    assert look_at_artwork(path).orientation == 1
    assert corners(made(path, Cover(64))) == UPRIGHT


def test_a_turned_original_is_remarked_and_embedded_upright(tmp_path: Path) -> None:
    """By check, before anything is built; and the file that ships holds no turned picture."""
    from mutagen.flac import FLAC

    write_spec(tmp_path, "native", "{container: {must: [flac]}}", "{}")
    with (tmp_path / "native.yaml").open("a", encoding="utf-8") as file:
        file.write("embed_artwork: true\n")
    write(tmp_path / "front.jpg", quarters(), 6)
    album = write_album(tmp_path, [Song("One", seconds=0.4)], ["native"], artwork="front.jpg")
    (output,) = (text for text in check(resolve_request(album), Options()).remarks if "EXIF" in text)
    assert output.startswith("front.jpg is stored turned or mirrored and relies on EXIF (orientation 6)")
    package = build(resolve_request(album), tmp_path / "out", Options()).package
    assert package
    (song,) = package.rglob("*.flac")
    (picture,) = FLAC(song).pictures
    assert corners(picture.data) == UPRIGHT
