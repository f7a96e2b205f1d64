"""The cover, drawn by code: a low sun over a harbour of sums. Same size, same picture."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

SKY = ((22, 38, 58), (72, 96, 118), (214, 150, 104), (243, 205, 150))
SEA = ((176, 128, 104), (128, 112, 112), (88, 98, 112), (58, 82, 102), (38, 64, 86), (26, 48, 70), (17, 34, 53))
PAPER = (244, 232, 210)
HORIZON, SUN_Y, SUN_RADIUS = 0.56, 0.5, 0.125


def ramp(stops: tuple[tuple[int, int, int], ...], height: int) -> NDArray[np.float32]:
    """Colours from top to bottom, (height, 3)."""
    at = np.linspace(0, len(stops) - 1, height)
    return np.stack([np.interp(at, range(len(stops)), [stop[c] for stop in stops]) for c in range(3)], axis=1).astype(
        np.float32
    )


def painted(side_px: int) -> NDArray[np.uint8]:
    """Sky, sun, and waves that grow toward the viewer; edges are softened over one pixel. (side, side, 3)."""
    unit = np.arange(side_px, dtype=np.float32) / side_px
    rows, columns = np.arange(side_px, dtype=np.float32)[:, None], unit[None, :]
    horizon = round(HORIZON * side_px)
    picture = np.empty((side_px, side_px, 3), np.float32)
    picture[:horizon] = ramp(SKY, horizon)[:, None, :]
    picture[horizon:] = SEA[0]
    away_px = np.hypot(rows - SUN_Y * side_px, (columns - 0.5) * side_px)[:horizon]
    sun = np.clip(SUN_RADIUS * side_px - away_px + 0.5, 0, 1)[:, :, None]
    picture[:horizon] += sun * (np.array(PAPER, np.float32) - picture[:horizon])
    for layer, colour in enumerate(SEA):
        depth = layer / (len(SEA) - 1)
        swell = 0.006 * np.sin(2 * np.pi * ((1.5 + layer) * columns + 0.37 * layer)) * (0.4 + depth)
        ripple = 0.002 * np.sin(2 * np.pi * ((11 - layer) * columns + 0.61 * layer * layer))
        shore_px = side_px * (HORIZON + 0.437 * depth**1.35 + (swell + ripple) * min(layer, 1))
        top = max(int(shore_px.min()) - 1, 0)
        cover = np.clip(rows[top:] - shore_px + 0.5, 0, 1)[:, :, None]
        picture[top:] += cover * (np.array(colour, np.float32) - picture[top:])
    return np.clip(np.rint(picture), 0, 255).astype(np.uint8)


def tallied(draw: Any, side_px: int) -> None:
    """The sun's path on the water, counted in fives: four strokes and a bar."""
    x, y, step = 0.5 * side_px, 0.615 * side_px, 0.026 * side_px
    for row in range(6):
        spread, height = (1.0 + 0.32 * row) * step, 0.022 * side_px * (1 + 0.18 * row)
        width = max(round(0.0035 * side_px * (1 + 0.12 * row)), 1)
        for stroke in range(4):
            at = x + (stroke - 1.5) * spread
            draw.line([(at, y), (at, y + height)], fill=PAPER, width=width)
        draw.line([(x - 2.1 * spread, y + 0.8 * height), (x + 2.1 * spread, y + 0.2 * height)], fill=PAPER, width=width)
        y += height * 1.9


def lettered(draw: Any, side_px: int, artist: str, title: str) -> None:
    """Artist and title, spaced capitals, centred at the top."""
    from PIL import ImageFont

    for text, y, size in ((artist, 0.075, 0.031), (title, 0.125, 0.05)):
        font = ImageFont.load_default(size=round(size * side_px))
        spaced = " ".join(text.upper())
        draw.text((side_px / 2, y * side_px), spaced, font=font, fill=PAPER, anchor="mt")


def draw_cover(path: Path, side_px: int, artist: str, title: str) -> None:
    """Write the cover as an RGB JPEG, *side_px* square."""
    from PIL import Image, ImageDraw

    picture = Image.fromarray(painted(side_px))
    draw = ImageDraw.Draw(picture)
    tallied(draw, side_px)
    lettered(draw, side_px, artist, title)
    picture.save(path, "JPEG", quality=90, subsampling=0, dpi=(300, 300))
