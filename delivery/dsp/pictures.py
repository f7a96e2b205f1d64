"""Borders of one colour in a picture, and its finest detail. Arrays in, numbers out. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Pixels = NDArray[np.uint8]
Array = NDArray[np.float64]
Rows = Callable[[int, int], Pixels]
Part = Callable[[int, int, int, int], Pixels]

ONE_COLOUR = 8
"""Levels of 255, RMS over a row, within which a border still counts as one colour: JPEG rings near an edge."""
ROWS_AT_ONCE = 64
"""Large enough to be quick for many short rows, small enough to waste nothing if the first row decides."""
EDGE, MUCH = 16, 0.3
"""Levels by which, and share of the side on which, a border's neighbour differs from it; gradients change by less from
row to row. Chosen on photographs and drawings; no source."""
CROP_PX = 512
FITTED = (0.01, 0.08)
"""Cycles per pixel: where even a picture enlarged five times still has all its detail."""
LOST_DB = 15.0
"""Below the fall of natural pictures. Chosen on noise of that fall, enlarged 1.5 to 4 times; no source."""
NOISE_VARIANCE = 0.5
"""Levels squared: white noise up to this is not detail. Rounding red, green, blue and their sum gives 0.12; JPEG
residue in smooth areas and the grain of a gradient are a few times that. Chosen on photographs and drawings."""
DARKEST_RMS = 2.0
"""Levels: flatter crops are not used."""


def border_px(part: Part, width: int, height: int) -> tuple[int, int, int, int]:
    """Rows or columns of one colour at the top, right, bottom and left edge.

    Parameters
    ----------
    part : left, top, right, bottom -> (rows, columns, colours); no more is read than decides
    width, height : of the picture
    """

    def columns(start: int, end: int) -> Pixels:
        return part(start, 0, end, height).transpose(1, 0, 2)

    return (
        _rows_of_one_colour(lambda start, end: part(0, start, width, end), height),
        _rows_of_one_colour(lambda start, end: columns(width - end, width - start)[::-1], width),
        _rows_of_one_colour(lambda start, end: part(0, height - end, width, height - start)[::-1], height),
        _rows_of_one_colour(columns, width),
    )


def _rows_of_one_colour(read: Rows, rows: int) -> int:
    """Number of rows from the first on that are of one colour, if an edge follows: a sky only fades.

    Parameters
    ----------
    read : first row and the one after the last -> (rows, columns, colours); no more is read than decides
    rows : of the picture
    """
    colour = np.median(read(0, 1)[0], axis=0)
    for start, end in pairwise((0, *range(1, rows, ROWS_AT_ONCE), rows)):  # the first row decides for most pictures
        others = np.flatnonzero(_levels_off(read(start, end), colour) > ONE_COLOUR)
        if len(others):
            count = start + int(others[0])
            return count if count and _edge_after(read(count - 1, min(count + 2, rows))) else 0
    return 0


def _levels_off(rows: Pixels, colour: Array) -> Array:
    """How far each row is from one colour: RMS over its pixels of the colour that is furthest off."""
    off = np.abs(rows.astype(np.int16) - colour.astype(np.int16)).max(axis=2)
    return np.asarray(np.sqrt(np.mean(off.astype(np.float64) ** 2, axis=1)))


def _edge_after(rows: Pixels) -> bool:
    """True if much of the picture's side changes from the first to the last of three rows; JPEG blurs an edge over
    one."""
    changed = np.abs(rows[-1].astype(np.int16) - rows[0].astype(np.int16)).max(axis=1) > EDGE
    return float(changed.mean()) >= MUCH


def finest_detail(luma: Pixels) -> float | None:
    """The highest frequency, in cycles per pixel, up to which some part of the picture has the detail usual in
    pictures.

    Power falls with the square of frequency in natural pictures (Field, J. Opt. Soc. Am. A 4, 1987). If it drops far
    below that line, detail is missing: the picture was enlarged, or is soft. The sharpest crop decides, so that a sharp
    face before a soft wall counts as sharp.

    Parameters
    ----------
    luma : (rows, columns), 0 to 255

    Returns
    -------
    0.5 if nothing is missing; None if there is too little detail to judge.
    """
    found = [edge for crop in _crops(luma) if (edge := _edge(crop)) is not None]
    return max(found, default=None)


def _crops(luma: Pixels) -> Iterator[Array]:
    """Up to 16 squares spread evenly over the picture."""
    rows, columns = luma.shape
    size = min(CROP_PX, rows, columns)
    downs = np.linspace(0, rows - size, 4).astype(int)
    acrosses = np.linspace(0, columns - size, 4).astype(int)
    corners = dict.fromkeys((int(down), int(across)) for down in downs for across in acrosses)
    return (luma[down : down + size, across : across + size].astype(np.float64) for down, across in corners)


def _edge(crop: Array) -> float | None:
    size = len(crop)
    if size < 128 or float(crop.std()) < DARKEST_RMS:
        return None
    window = np.hanning(size)
    power = np.abs(np.fft.rfft2((crop - crop.mean()) * window * window[:, None])) ** 2
    bands, index, counts = _bands(size)
    sums = np.bincount(index, power.ravel(), len(bands) + 1)[1:]
    mean = sums / np.maximum(counts, 1)
    level_db = 10 * np.log10(mean + 1e-9) + 20 * np.log10(bands + 0.005)
    usual_db = float(np.median(level_db[bands < FITTED[1]]))
    rounding = NOISE_VARIANCE * float((window**2).sum()) ** 2
    missing = (level_db < usual_db - LOST_DB) | (mean < rounding)
    for at in range(len(bands) - 1, -1, -1):
        if not missing[at]:
            return 0.5 if at >= len(bands) - 3 else float(bands[at] + 0.01)
    return None


@lru_cache(maxsize=4)
def _bands(size: int) -> tuple[Array, NDArray[np.intp], NDArray[np.intp]]:
    """Lower edges of the bands in cycles per pixel; for each value of a spectrum the number of its band, counting from
    1; values in each band."""
    bands = np.arange(FITTED[0], 0.5, 0.01)
    frequency = np.hypot(np.fft.fftfreq(size)[:, None], np.fft.rfftfreq(size))
    index = np.digitize(frequency.ravel(), bands)
    return bands, index, np.bincount(index, minlength=len(bands) + 1)[1:]
