"""Long-term spectra: third octaves, the band edge, and whether it matches that of another rate."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import ArrayLike, NDArray

from delivery.dsp.median import median, medians
from delivery.dsp.spectrum._loops import add_power as add_power
from delivery.dsp.spectrum._loops import band_sums as band_sums
from delivery.dsp.spectrum.layout import BINS_A_BAND as BINS_A_BAND

Array = NDArray[np.float64]

BASE_FRAMES = 8192
"""Window at 44.1 and 48 kHz; it doubles with the rate, so that bins stay between 5 and 6 Hz wide."""
FLOOR_DB = -120.0
THIRD_OCTAVES = range(-16, 14)
"""25 Hz to 20 kHz: 1000 * 10**(k / 10) Hz, edges a factor of 10**(1/20) away (IEC 61260-1, base ten)."""


def window_frames(rate_hz: int) -> int:
    """Length of a window, a power of two."""
    doublings = min(max(round(np.log2(rate_hz / 48_000)), -4), 4)
    return int(BASE_FRAMES * 2.0**doublings)


def hann(frames: int) -> Array:
    """Periodic Hann window of unit power."""
    window = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(frames) / frames)
    return np.asarray(window / np.sqrt(np.mean(window**2)))


def third_octave_bands(bins: int, bin_hz: float) -> tuple[Array, Array]:
    """Middles, and (n, 2) edges, of those bands that fit under the top."""
    middles = np.array([1000 * 10 ** (k / 10) for k in THIRD_OCTAVES])
    middles = middles[middles * 10 ** (1 / 20) <= (bins - 0.5) * bin_hz]
    return middles, np.stack([middles * 10 ** (-1 / 20), middles * 10 ** (1 / 20)], axis=1)


def levels_db(bands: Array, whole: ArrayLike) -> Array:
    """Levels relative to *whole*, floored at FLOOR_DB."""
    return np.asarray(10 * np.log10(np.maximum(bands / np.maximum(whole, 1e-300), 10 ** (FLOOR_DB / 10))))


def dbfs(powers: Array) -> Array:
    """Mean squares in dB of full scale 1.0, floored at FLOOR_DB; NaN stays."""
    return np.asarray(10 * np.log10(np.maximum(powers, 10 ** (FLOOR_DB / 10))))


EDGE_DROP_DB = 20.0
EDGE_WIDTH_HZ = 1000.0


def band_edge_hz(levels_db: Array, band_hz: float) -> float | None:
    """The band edge: the position with the deepest fall within 1 kHz relative to everything above.

    None if nothing falls by EDGE_DROP_DB: the band extends to the top, or falls gently.
    """
    width = max(round(EDGE_WIDTH_HZ / band_hz), 1)
    above = np.maximum.accumulate(levels_db[::-1])[::-1]
    count = len(levels_db) - 2 * width - 1
    if count < 1:
        return None
    below = np.array([median(levels_db[:i]) for i in range(1, min(width, count + 1))])
    if count >= width:
        below = np.append(below, medians(sliding_window_view(levels_db[:count], width)))
    falls = below - above[1 + width : 1 + width + len(below)]
    deepest = int(np.argmax(falls))
    if falls[deepest] < EDGE_DROP_DB:
        return None
    middle = levels_db[deepest + 1 : deepest + 2 + width]
    half = (below[deepest] + above[1 + width + deepest]) / 2
    return float((deepest + 1 + np.count_nonzero(middle > half)) * band_hz)


EARLY_HZ = (15_000.0, 20_000.0)
EARLY_BEND_DB = 12.0
"""Minimum excess over twice the fall of the kilohertz below: a spectrum that falls throughout has no edge there."""
AUDIBLE_DB = 6.0


def early_edge_hz(levels_db: Array, band_hz: float, floor_db: float, edge_hz: float | None) -> float | None:
    """*edge_hz* from :func:`band_edge_hz` if it is within EARLY_HZ, as made by many lossy coders and filters.

    0 if there is none, None if unknown because nothing there exceeds *floor_db*, the level of dither.
    """
    width = max(round(EDGE_WIDTH_HZ / band_hz), 1)
    low = round(EARLY_HZ[0] / band_hz)
    if median(levels_db[low - width : low]) < floor_db + AUDIBLE_DB:
        return None
    if edge_hz is None or not EARLY_HZ[0] <= edge_hz <= EARLY_HZ[1]:
        return 0.0
    edge = round(edge_hz / band_hz)
    below, well_below = (median(levels_db[edge - end : edge - end + width]) for end in (3 * width // 2, 5 * width // 2))
    above = levels_db[edge + width :].max(initial=floor_db)
    return edge_hz if (below - above) - 2 * max(well_below - below, 0.0) >= EARLY_BEND_DB else 0.0


HALF_RATES_HZ = (22_050, 24_000, 44_100, 48_000)
ABOVE, BELOW, WELL_BELOW = 1.03, (0.84, 0.90), (0.72, 0.78)
"""Shares of a half-rate: above its filter, the end of the filter's pass band, and music for comparison."""
BEND_DB = 12.0
ABOVE_FLOOR_DB = 6.0
NOT_BEYOND = 1.01
"""A steep converter from a rate leaves nothing beyond this share of its half: an edge higher up is another rate's."""
CLOSE_HZ, CLOSE_EDGE = 24_000.0, (0.955, 1.003)
"""Up to 48 kHz the room above 22.05 is small, and the edges of coders (20.5 kHz) and of converters to 48 kHz (22.3 kHz)
are near: there the edge itself has to be where converters from 44.1 kHz have theirs."""


def upsampled_from_hz(levels_db: Array, band_hz: float, floor_db: float) -> int | None:
    """The sample rate whose band edge this spectrum shows: a steep fall at half of it, relative to everything above.

    0 if there is no such evidence, None if unknown because nothing reaches the lowest half-rate. Steep means:
    EDGE_DROP_DB down, and BEND_DB more than the spectrum fell over as wide a step below. *levels_db* should be levels
    rarely exceeded by windows: an edge that some of the music exceeds is not one. *floor_db* is the level of dither at
    the bit depth, which could mask an edge.
    """
    top_hz = len(levels_db) * band_hz
    edge_hz = band_edge_hz(levels_db, band_hz)

    def level(start_hz: float, end_hz: float) -> Array:
        return levels_db[round(start_hz / band_hz) : round(end_hz / band_hz)]

    for half_hz, above_hz in _rooms(top_hz, edge_hz):
        above = level(above_hz, 0.99 * top_hz)
        below, well_below = (median(level(a * half_hz, b * half_hz)) for a, b in (BELOW, WELL_BELOW))
        fall = below - above.max()
        if fall >= EDGE_DROP_DB and (fall - max(well_below - below, 0.0) >= BEND_DB):
            return 2 * half_hz
    lowest = BELOW[0] * HALF_RATES_HZ[0]
    step_hz = (BELOW[1] - BELOW[0]) * HALF_RATES_HZ[0]
    audible = (median(level(hz, hz + step_hz)) for hz in np.arange(lowest, top_hz - step_hz, step_hz))
    return 0 if max(audible, default=-np.inf) > floor_db + ABOVE_FLOOR_DB else None


def _rooms(top_hz: float, edge_hz: float | None) -> Iterator[tuple[int, float]]:
    """Half-rates that the edge allows, and where the room above each begins, in which nothing may be."""
    if top_hz <= CLOSE_HZ:
        least, most = (share * HALF_RATES_HZ[0] for share in CLOSE_EDGE)
        if edge_hz is not None and least <= edge_hz <= most < 0.95 * top_hz:
            yield HALF_RATES_HZ[0], most
        return
    for half_hz in HALF_RATES_HZ:
        if 0.99 * top_hz - ABOVE * half_hz < 0.08 * top_hz:
            return
        if edge_hz is None or edge_hz <= NOT_BEYOND * half_hz:
            yield half_hz, ABOVE * half_hz
