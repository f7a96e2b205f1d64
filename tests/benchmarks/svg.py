"""Small line charts as SVG text: a frame, ticks, lines with names. Rounded to tenths of a pixel."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import escape
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
WIDTH, HEIGHT = 760, 400
LEFT, RIGHT, TOP, BOTTOM = 62, 16, 44, 46
STYLES = (
    ("#1b4f8a", ""),
    ("#c2571a", "9 4"),
    ("#2e7d4f", "3 3"),
    ("#7a3b8f", ""),
    ("#8a8a8a", ""),
    ("#222222", "2 8"),
    ("#b38600", ""),
    ("#a02c3c", "8 3"),
)
"""Colour and dash; each line is named as well, so none depends on colour alone."""


@dataclass(frozen=True)
class Line:
    name: str
    x: Array
    y: Array


@dataclass(frozen=True)
class Axis:
    text: str
    ticks: Sequence[float]
    """The first and the last are the ends of the axis."""
    logarithmic: bool = False

    def place(self, values: Array, begin: float, end: float) -> Array:
        """Pixels; what lies beyond the axis stops at its ends."""
        scale: Callable[[Array], Array] = np.log10 if self.logarithmic else np.asarray
        low, high = scale(np.array([self.ticks[0], self.ticks[-1]]))
        within = (scale(np.clip(values, min(self.ticks), max(self.ticks))) - low) / (high - low)
        return begin + within * (end - begin)


def chart(title: str, across: Axis, up: Axis, lines: Sequence[Line]) -> str:
    """The whole SVG document."""
    pieces = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" font-family="sans-serif" '
        f'font-size="12" fill="#222"><title>{escape(title)}</title>',
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#fff"/>',
        f'<text x="{LEFT}" y="18" font-size="14" font-weight="bold">{escape(title)}</text>',
        *_grid(across, up),
        *(piece for at, line in enumerate(lines) for piece in _line(line, across, up, *STYLES[at % len(STYLES)])),
        *_names(lines),
        "</svg>",
    ]
    return "\n".join(pieces) + "\n"


def _grid(across: Axis, up: Axis) -> list[str]:
    right, bottom = WIDTH - RIGHT, HEIGHT - BOTTOM
    made = []
    for tick, x in zip(across.ticks, across.place(np.array(across.ticks, float), LEFT, right), strict=True):
        made.append(f'<path d="M{x:.1f} {TOP}V{bottom}" stroke="#ddd"/>')
        made.append(f'<text x="{x:.1f}" y="{bottom + 16}" text-anchor="middle">{_number(tick)}</text>')
    for tick, y in zip(up.ticks, up.place(np.array(up.ticks, float), bottom, TOP), strict=True):
        made.append(f'<path d="M{LEFT} {y:.1f}H{right}" stroke="#ddd"/>')
        made.append(f'<text x="{LEFT - 6}" y="{y + 4:.1f}" text-anchor="end">{_number(tick)}</text>')
    made.append(f'<text x="{right}" y="{HEIGHT - 10}" text-anchor="end">{escape(across.text)}</text>')
    made.append(f'<text x="{LEFT}" y="{HEIGHT - 10}">up: {escape(up.text)}</text>')
    return made


def _line(line: Line, across: Axis, up: Axis, colour: str, dash: str) -> list[str]:
    x = across.place(line.x, LEFT, WIDTH - RIGHT)
    y = up.place(line.y, HEIGHT - BOTTOM, TOP)
    points = [f"{a:.1f} {b:.1f}" for a, b in zip(x, y, strict=True)]
    kept = points[:1] + [after for before, after in pairwise(points) if after != before]
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return [f'<path d="M{"L".join(kept)}" fill="none" stroke="{colour}" stroke-width="1.3"{dashes}/>']


def _names(lines: Sequence[Line]) -> list[str]:
    made, x = [], float(LEFT)
    for at, line in enumerate(lines):
        colour, dash = STYLES[at % len(STYLES)]
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        made.append(f'<path d="M{x:.1f} 33H{x + 22:.1f}" stroke="{colour}" stroke-width="2.5"{dashes}/>')
        made.append(f'<text x="{x + 27:.1f}" y="37">{escape(line.name)}</text>')
        x += 42 + 6.6 * len(line.name)
    return made


def _number(value: float) -> str:
    return f"{value / 1000:g}k" if abs(value) >= 1000 else f"{value:g}".replace("-", "\u2212")
