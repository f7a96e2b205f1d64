"""Detail and borders of pictures: made as nature makes them, enlarged as programs enlarge them."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageDraw, ImageFilter

from delivery.dsp.pictures import border_px, finest_detail

SIDE = 1200
KERNELS = {"bicubic": Image.Resampling.BICUBIC, "lanczos": Image.Resampling.LANCZOS}


def natural(side: int, fall: float = 1.0, seed: int = 1) -> Image.Image:
    """Noise whose amplitude falls with frequency to the power of *fall* (1: Field, J. Opt. Soc. Am. A 4, 1987)."""
    noise = np.fft.fft2(np.random.default_rng(seed).standard_normal((side, side)))
    frequency = np.hypot(np.fft.fftfreq(side)[:, None], np.fft.fftfreq(side))
    frequency[0, 0] = 1
    made = np.fft.ifft2(noise / frequency**fall).real
    return Image.fromarray(np.clip((made - made.mean()) / made.std() * 45 + 128, 0, 255).astype(np.uint8))


def as_jpeg(picture: Image.Image, quality: int) -> Image.Image:
    into = io.BytesIO()
    picture.save(into, "JPEG", quality=quality)
    return Image.open(io.BytesIO(into.getvalue()))


def detail(picture: Image.Image) -> float | None:
    return finest_detail(np.asarray(picture.convert("L"), dtype=np.uint8))


@pytest.mark.thorough(2)
@pytest.mark.parametrize("quality", [None, 90, 60])
@pytest.mark.parametrize("fall", [0.8, 1.0, 1.2])
def test_a_picture_at_its_own_size_has_all_its_detail(fall: float, quality: int | None) -> None:
    picture = natural(SIDE, fall)
    assert detail(as_jpeg(picture, quality) if quality else picture) == 0.5


@pytest.mark.thorough(3)
@pytest.mark.parametrize("factor", [2, 3, 4])
@pytest.mark.parametrize("kernel", list(KERNELS))
@pytest.mark.parametrize("quality", [None, 90])
def test_an_enlarged_picture_ends_where_its_original_ended(factor: int, kernel: str, quality: int | None) -> None:
    """Twice the size: detail up to 0.25 cycles a pixel, and what the kernel leaves beyond."""
    picture = natural(SIDE // factor).resize((SIDE, SIDE), KERNELS[kernel])
    found = detail(as_jpeg(picture, quality) if quality else picture)
    assert found
    assert 0.5 / factor * 0.6 < found < min(0.42, 0.5 / factor + 0.18)


def test_drawn_shapes_are_sharp_and_their_enlargement_is_not() -> None:
    picture = Image.new("L", (SIDE, SIDE), 30)
    draw, chance = ImageDraw.Draw(picture), np.random.default_rng(3)
    for x, y, wide, high, grey in chance.integers(20, 250, (60, 5)) * [4, 4, 1, 1, 1]:
        draw.rectangle([x, y, x + wide, y + high], fill=int(grey))
    assert detail(picture) == 0.5
    small = picture.resize((SIDE // 2, SIDE // 2), Image.Resampling.LANCZOS)
    enlarged = detail(small.resize((SIDE, SIDE), Image.Resampling.BICUBIC))
    assert enlarged
    assert enlarged < 0.42


def test_a_smooth_sky_hides_no_enlargement() -> None:
    """Rounding in a gradient is white, so as fine as can be, and no detail: it must not make a soft picture sharp."""
    rows = np.linspace(20, 220, SIDE)[:, None] * np.ones(SIDE)
    picture = Image.fromarray(np.rint(rows).astype(np.uint8))
    draw = ImageDraw.Draw(picture)
    draw.ellipse([500, 700, 800, 1000], fill=240)
    assert detail(picture) == 0.5
    enlarged = detail(picture.resize((SIDE // 4, SIDE // 4), Image.Resampling.LANCZOS).resize((SIDE, SIDE)))
    assert enlarged
    assert enlarged < 0.42


def test_one_sharp_part_makes_a_sharp_picture() -> None:
    picture = natural(SIDE).filter(ImageFilter.GaussianBlur(6))
    picture.paste(natural(500, seed=2), (0, 0))
    assert detail(picture) == 0.5


@pytest.mark.parametrize("picture", [Image.new("L", (SIDE, SIDE), 200), natural(100)])
def test_too_plain_or_too_small_for_a_result(picture: Image.Image) -> None:
    assert detail(picture) is None


def framed(top: int, right: int, bottom: int, left: int) -> np.ndarray:
    pixels = np.random.default_rng(5).integers(0, 255, (80, 100, 3)).astype(np.uint8)
    pixels[:top], pixels[80 - bottom :] = 250, 250
    pixels[:, :left], pixels[:, 100 - right :] = 250, 250
    return pixels


def border_of(pixels: np.ndarray) -> tuple[int, int, int, int]:
    height, width = pixels.shape[:2]
    return border_px(lambda left, top, right, bottom: pixels[top:bottom, left:right], width, height)


@pytest.mark.parametrize("border", [(0, 0, 0, 0), (1, 0, 0, 0), (0, 2, 0, 0), (0, 0, 3, 0), (0, 0, 0, 4), (5, 6, 7, 8)])
def test_borders(border: tuple[int, int, int, int]) -> None:
    assert border_of(framed(*border)) == border


@pytest.mark.parametrize("quality", [92, 80])
@pytest.mark.parametrize("white_px", [2, 3, 8])
def test_a_thin_border_is_found_after_jpeg(white_px: int, quality: int) -> None:
    """Ringing beside the picture's edge is no colour of the border's own."""
    side = 400
    picture = Image.new("L", (side, side), 255)
    picture.paste(natural(side).crop((0, 0, side - 2 * white_px, side)), (white_px, 0))
    top, right, bottom, left = border_of(np.asarray(as_jpeg(picture, quality).convert("RGB")))
    assert (top, bottom) == (0, 0)
    assert abs(right - white_px) <= 1
    assert abs(left - white_px) <= 1


def test_a_border_is_one_colour_within_what_jpeg_changes() -> None:
    pixels = framed(4, 0, 0, 0)
    pixels[:4] = 250 + np.arange(100)[:, None] % 5
    assert border_of(pixels)[0] == 4


def test_a_picture_of_one_colour_has_no_border() -> None:
    assert border_of(np.zeros((10, 10, 3), np.uint8)) == (0, 0, 0, 0)


def test_a_fading_sky_is_no_border() -> None:
    sky = np.repeat(np.linspace(20, 120, 900)[:, None], 100, axis=1).astype(np.uint8)[:, :, None]
    assert border_of(sky) == (0, 0, 0, 0)


@pytest.mark.parametrize("rows", [1, 63, 64, 65, 130])
def test_a_border_of_any_number_of_rows_is_counted(rows: int) -> None:
    """Rows are looked at several at a time, at the ends of which a count could go wrong."""
    pixels = np.random.default_rng(5).integers(0, 255, (400, 90, 3), dtype=np.uint8)
    pixels[:rows] = (200, 190, 40)
    assert border_of(pixels) == (rows, 0, 0, 0)
    assert border_of(pixels[::-1].copy()) == (0, 0, rows, 0)


def test_very_many_short_rows_of_one_colour_are_not_looked_at_one_by_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """40 x 262,184 pixels came from a damaged TIFF and took 6 s, row by row."""
    looks = 0
    mean = np.mean

    def counted(*of: Any, **how: Any) -> Any:
        nonlocal looks
        looks += 1
        return mean(*of, **how)

    monkeypatch.setattr(np, "mean", counted)
    border_of(np.full((64_000, 40, 3), 7, np.uint8))
    assert 0 < looks <= 2_100  # from the top, from the bottom, and from both sides of 40 columns
