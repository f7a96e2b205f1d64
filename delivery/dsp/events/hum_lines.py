"""Mains hum under continuous music: lines that keep their frequency and level through the softest windows of the piece.

Each window lasts eight seconds, so that a line is a quarter of 1 Hz wide. At each harmonic of the mains, the fifth of
the windows is chosen in which the sound beside the line is softest; a line that belongs to the mains stands out of
these by its median, with the same level and frequency in each, while notes come and go and move their neighbours along.
No published method, own; limits tuned on planted hum.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.median import median, medians

Array = NDArray[np.float64]
Singles = NDArray[np.float32]

WINDOW_S = 8
HIGHEST_HZ = 260.0


class Mains(NamedTuple):
    """One supply, and the harmonics of it that no other one shares."""

    hz: float
    wanders: float
    """Share of its frequency that it may be off: power grids stay within 0.2 Hz, and notes of the scale (49.0, 51.9,
    58.3, 61.7 Hz; 16.35 and 17.3) are further away."""
    harmonics: tuple[int, ...]


SUPPLIES = (
    Mains(50.0, 0.003, (1, 2, 3, 4, 5)),
    Mains(60.0, 0.003, (1, 2, 3, 4)),
    Mains(16.69, 0.006, (1, 2, 4, 5, 7)),
)
"""The last one is that of railways in central Europe: nominally 16.7 Hz, before 1995 16 2/3 (EN 50163, from memory)."""
NEVER_TOGETHER = {50.0, 60.0}
"""No place has both supplies; music that repeats exactly can have lines at the multiples of both."""
LOWEST_BEAT_HZ, BEAT_OFF_HZ = 12.0, 0.06
LEAST_BEAT_HZ = 3.5
"""Strokes that come more slowly leave lines too close to each other to be told apart."""
LEAST_BEATS, BEATS_SHARE = 2, 1 / 12
"""Lines of a rhythm, and as a share of its multiples, from which on they are not there by chance."""
BASE = (1, 2)
"""One of these must be there: hum without a fundamental comes from rectifiers, at twice the frequency."""

LEAST_WINDOWS = 5
SOFTEST = 0.2
BESIDE_HZ, NEAR_HZ, FAR_HZ = 0.5, 2.5, 6.0
CLEAR_DB, SHOWN_DB, ON_MEDIAN_DB = 8.0, 4.0, 3.0
"""How far a line stands above all that is within NEAR_HZ: alone, and together with another harmonic; above the median
within FAR_HZ by ON_MEDIAN_DB more."""
STEADY_DB, SHOWN_STEADY_DB = 3.0, 4.0
"""Spread of the level between the quartiles of the windows, alone and together with another harmonic."""
STEADY_HZ = 0.06
SAME_HZ = 0.05
"""Most that the frequencies of two harmonics, divided by their numbers, lie apart."""


class Line(NamedTuple):
    """A line in the spectrum, in the windows in which the sound beside it is softest."""

    harmonic: int
    hz: float
    above_near_db: float
    above_median_db: float
    spread_db: float
    spread_hz: float
    power: float
    """Mean square of the tone."""
    softest: int
    """The window in which the sound beside it is softest of all."""


class Lines(NamedTuple):
    """Lines that together are mains hum."""

    mains_hz: float
    """Nominal, of SUPPLIES."""
    hz: float
    """Of the fundamental."""
    power: float
    softest: int
    rhythm: bool
    """Whether there are lines between the harmonics, too, at multiples of a part of them."""


def powers_of(windows: Singles, shape: Array, bins: int) -> Singles:
    """(..., bins) powers of (..., frames) under a *shape* whose sum is 2: a sine of amplitude 1 gives 1."""
    spectra = np.fft.rfft(windows * shape)[..., :bins]
    return (spectra.real**2 + spectra.imag**2).astype(np.float32)


def hum_of_channels(windows: Sequence[Singles], bin_hz: float) -> list[Lines]:
    """Mains hum that shows in windows of (channels, bins) powers: the strongest lines of each channel that has any.

    Empty if there are too few windows, or if there are lines of supplies that no place has together. Lines that a
    rhythm shares in any channel are left out: music that is sequenced to a beat of 2 1/12 Hz has some at 50 Hz.
    """
    if len(windows) < LEAST_WINDOWS:
        return []
    channels = [  # one at a time: all of them in one array would take their memory twice
        _of_channel(np.stack([window[channel] for window in windows]), bin_hz) for channel in range(len(windows[0]))
    ]
    if {lines.mains_hz for found in channels for lines in found} >= NEVER_TOGETHER:
        return []
    rhythm = {lines.mains_hz for found in channels for lines in found if lines.rhythm}
    kept = [[lines for lines in found if lines.mains_hz not in rhythm] for found in channels]
    return [max(found, key=lambda lines: lines.power) for found in kept if found]


def _of_channel(powers: Singles, bin_hz: float) -> list[Lines]:
    return [lines for mains in SUPPLIES if (lines := _of_mains(powers, bin_hz, mains)) is not None]


def _of_mains(powers: Singles, bin_hz: float, mains: Mains) -> Lines | None:
    base = [line for number in BASE if (line := _line(powers, bin_hz, mains, number))]
    if not base:
        return None
    others = [number for number in mains.harmonics if number not in BASE]
    lines = base + [line for number in others if (line := _line(powers, bin_hz, mains, number))]
    first = max(base, key=lambda line: line.above_near_db)
    same = [line for line in lines if abs(line.hz / line.harmonic - first.hz / first.harmonic) < SAME_HZ]
    if len(same) < 2 and not _stands_alone(first):
        return None
    hz, rhythm = first.hz / first.harmonic, _is_rhythm(powers, bin_hz, first.hz, first.harmonic)
    return Lines(mains.hz, hz, sum(line.power for line in same), first.softest, rhythm)


def _is_rhythm(powers: Singles, bin_hz: float, base_hz: float, base: int) -> bool:
    """True if there are steady lines at multiples of a part of *base_hz* that are no harmonics.

    *base* is the number of the harmonic at *base_hz*.
    """
    highest_hz = HIGHEST_HZ - FAR_HZ

    @cache  # a third of them are multiples of several parts
    def shows(times_base: float) -> bool:
        hz = times_base * base_hz
        return _line(powers, bin_hz, Mains(hz, BEAT_OFF_HZ / hz, (1,)), 1) is not None

    for part in range(2, int(base_hz / LEAST_BEAT_HZ) + 1):
        numbers = (number for number in range(1, int(highest_hz * part / base_hz)) if base * number % part)
        beats = [number / part for number in numbers if number / part * base_hz > LOWEST_BEAT_HZ]
        if sum(map(shows, beats)) >= max(LEAST_BEATS, BEATS_SHARE * len(beats)):
            return True
    return False


def _stands_alone(line: Line) -> bool:
    clear = line.above_near_db >= CLEAR_DB and line.above_median_db >= CLEAR_DB + ON_MEDIAN_DB
    return clear and line.spread_db <= STEADY_DB


def _line(powers: Singles, bin_hz: float, mains: Mains, harmonic: int) -> Line | None:
    """The line at one harmonic, if it is steady and stands out."""
    middle = round(harmonic * mains.hz / bin_hz)
    reach = max(round(harmonic * mains.hz * mains.wanders / bin_hz), 1)
    beside, near, far = (round(hz / bin_hz) for hz in (BESIDE_HZ, NEAR_HZ, FAR_HZ))
    first = max(middle - far, 1)
    part = powers[:, first : middle + far + 1]
    if part.shape[1] <= middle - first + far:
        return None
    middle -= first
    around = np.concatenate([part[:, : middle - beside - 1], part[:, middle + beside + 2 :]], axis=1)
    half = around.shape[1] // 2
    background = np.partition(around, half, axis=1)[:, half]
    count = max(LEAST_WINDOWS, round(SOFTEST * len(part)))
    order = np.argsort(background, kind="stable")[:count]
    softest = part[np.sort(order)].astype(np.float64)
    begin = max(middle - reach - near, 0)  # bins further away are needed only if a line is found
    usual = medians(softest[:, begin : middle + reach + near + 1].T)
    top = middle - reach + int(np.argmax(usual[middle - reach - begin : middle + reach + 1 - begin]))
    at = top - begin
    nearby = np.concatenate([usual[max(at - near, 0) : at - beside], usual[at + beside + 1 : at + near + 1]])
    level_db = _db(median(softest[:, top - 1 : top + 2].max(axis=1)))
    above_near_db = level_db - _db(float(nearby.max()))
    if above_near_db < SHOWN_DB:
        return None
    distant = medians(np.concatenate([softest[:, : top - beside], softest[:, top + beside + 1 :]], axis=1).T)
    above_median_db = level_db - _db(median(distant))
    levels_db = 10 * np.log10(np.maximum(softest[:, top - 1 : top + 2].sum(axis=1), 1e-30))
    places = _between_bins(softest[:, top - 1 : top + 2])
    spread_db, spread_hz = _quartiles_apart(levels_db), _quartiles_apart(places) * bin_hz
    if above_median_db < SHOWN_DB + ON_MEDIAN_DB or spread_db > SHOWN_STEADY_DB or spread_hz > STEADY_HZ:
        return None
    hz = (first + top + median(places)) * bin_hz
    if abs(hz / (harmonic * mains.hz) - 1) > mains.wanders:
        return None
    power = median(softest[:, top - 2 : top + 3].sum(axis=1)) / 2 / 1.5  # 1.5: noise bandwidth of Hann, in bins
    return Line(harmonic, hz, above_near_db, above_median_db, spread_db, spread_hz, power, int(order[0]))


def _between_bins(three: Array) -> Array:
    """Place of each summit between bins, from -1 to 1, by a parabola through the levels of three of them."""
    below, at, above = np.log(np.maximum(three, 1e-30)).T
    bend = below - 2 * at + above
    return np.clip(np.where(bend < 0, 0.5 * (below - above) / np.where(bend < 0, bend, 1.0), 0.0), -1.0, 1.0)


def _quartiles_apart(values: Array) -> float:
    ordered = np.sort(values)
    lower, upper = np.interp([0.25 * (len(ordered) - 1), 0.75 * (len(ordered) - 1)], np.arange(len(ordered)), ordered)
    return float(upper - lower)


def _db(power: float) -> float:
    return 10 * float(np.log10(max(power, 1e-30)))
