"""Thumbnails of artwork and logo: decoded once, and again when the file is another one."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from unittest.mock import patch

from PIL import Image

from delivery.report import pictures


def painted(path: Path, colour: str) -> Path:
    Image.new("RGB", (40, 40), colour).save(path)
    return path


def colour(jpeg: bytes | None) -> tuple[int, ...]:
    assert jpeg
    found = Image.open(BytesIO(jpeg)).getpixel((20, 20))
    assert isinstance(found, tuple)
    return tuple(int(each) for each in found)


def test_a_picture_on_several_sheets_is_decoded_once(tmp_path: Path) -> None:
    cover = painted(tmp_path / "cover.png", "red")
    with patch.object(pictures, "isolated", wraps=pictures.isolated) as decoding:
        assert pictures.small(cover) == pictures.small(cover)
    assert decoding.call_count == 1


def test_a_file_that_was_replaced_is_shown_as_it_is_now(tmp_path: Path) -> None:
    cover = painted(tmp_path / "cover.png", "red")
    before = pictures.small(cover)
    painted(tmp_path / "new.png", "blue").replace(cover)
    red, blue = colour(before), colour(pictures.small(cover))
    assert red[0] > 200 > 50 > red[2]
    assert blue[2] > 200 > 50 > blue[0]


def test_a_picture_that_arrives_later_is_shown(tmp_path: Path) -> None:
    assert pictures.small(tmp_path / "cover.png") is None
    assert pictures.small(painted(tmp_path / "cover.png", "red"))
