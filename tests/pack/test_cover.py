"""Covers made from the one original: reduced, never enlarged, never cropped, the same bytes every time."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms

from delivery.errors import Unusable
from delivery.intake import look_at_artwork
from delivery.model.spec import Cover
from delivery.pack.cover import file_name, made, why_not
from delivery.tags.picture_bytes import picture_bytes

PROFILE = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def original(folder: Path, side: tuple[int, int] = (300, 300), mode: str = "RGB", form: str = "PNG") -> Path:
    noise = np.random.default_rng(1).integers(0, 255, (side[1], side[0], 3)).astype(np.uint8)
    path = folder / f"cover.{form.lower()}"
    Image.fromarray(noise).convert(mode).save(path, form, icc_profile=PROFILE if mode == "RGB" else None)
    return path


@pytest.mark.parametrize("kind", ["jpeg", "png"])
def test_reduced_with_its_profile(tmp_path: Path, kind: str) -> None:
    content = made(original(tmp_path), Cover(100, kind))
    with Image.open(io.BytesIO(content)) as picture:
        assert (picture.format, picture.size, picture.mode) == (kind.upper(), (100, 100), "RGB")
        assert picture.info["icc_profile"] == PROFILE
    assert made(tmp_path / "cover.png", Cover(100, kind)) == content


def test_an_original_that_meets_the_spec_is_copied(tmp_path: Path) -> None:
    path = original(tmp_path, form="JPEG")
    assert made(path, Cover(300, "jpeg")) == path.read_bytes()
    assert made(path, Cover(300, "jpeg"), len(path.read_bytes())) == path.read_bytes(), "exactly at the limit"


def test_small_enough_by_quality_or_refused(tmp_path: Path) -> None:
    path = original(tmp_path)
    best = len(made(path, Cover(200)))
    less = made(path, Cover(200), best - 1)
    assert len(less) < best
    assert len(made(path, Cover(200), best)) == best, "a file of exactly the limit is small enough"
    with pytest.raises(Unusable, match=r"cover\.png: found [\d,]+ bytes at JPEG quality 70, wanted at most 100 bytes"):
        made(path, Cover(200), 100)


@pytest.mark.parametrize("quality", [95, 80])
def test_the_finest_grain_is_written(quality: int) -> None:
    """Noise takes more bytes than Pillow's own buffer for an optimised JPEG: it failed with 'broken data stream'."""
    noise = np.random.default_rng(7).integers(0, 256, (400, 400, 3), dtype=np.uint8)
    content = picture_bytes(Image.fromarray(noise), "JPEG", quality=quality, subsampling=0, optimize=True)
    with Image.open(io.BytesIO(content)) as picture:
        picture.load()
        assert picture.size == (400, 400)


@pytest.mark.parametrize(
    ("side", "mode", "form", "why"),
    [
        ((300, 300), "RGB", "PNG", ""),
        ((300, 300), "L", "PNG", ""),
        ((199, 199), "RGB", "PNG", "the original has 199 x 199 px, and nothing is enlarged"),
        ((300, 299), "RGB", "PNG", "how to crop it is for the designer"),
        ((300, 300), "CMYK", "JPEG", "the original is cmyk"),
        ((300, 300), "RGBA", "PNG", "the original is rgba"),
    ],
)
def test_what_is_for_the_designer_is_left_to_the_designer(
    tmp_path: Path, side: tuple[int, int], mode: str, form: str, why: str
) -> None:
    text = why_not(look_at_artwork(original(tmp_path, side, mode, form)), "", Cover(200))
    assert (text == "") if not why else (why in text)


def test_no_original() -> None:
    assert why_not(None, "", Cover(200)) == "the release names no artwork"
    assert why_not(None, "cover.jpg: found no such file", Cover(200)) == "cover.jpg: found no such file"
    assert (file_name(Cover(1)), file_name(Cover(1, "png"))) == ("cover.jpg", "cover.png")
