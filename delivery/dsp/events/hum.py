"""Mains hum: steady tones at 50, 60 or 16.7 Hz and their multiples, found where little else is audible."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from delivery.dsp.events.hum_lines import LEAST_BEAT_HZ
from delivery.dsp.median import median, medians

Array = NDArray[np.float64]
Singles = NDArray[np.float32]
Response = Callable[[Array], Array]
"""Power gain of the decimation at frequencies in Hz."""

MAINS_HZ = (50.0, 60.0, 16.69)
"""The last one is that of railways in central Europe; its third harmonic alone would be taken for 50 Hz."""
BASE = (1, 2)
"""The harmonic that must be there: rectifiers leave hum of twice the frequency, with hardly a fundamental."""
HARMONICS = 8
WANDERS = 0.006
"""Tolerance: mains keep within 0.3 Hz; notes of the scale (49.0, 51.9, 58.3, 61.7 Hz; 16.35, 17.3) are further off."""
OUTSTANDING_DB, ALONE_DB = 12.0, 20.0
"""Over the median within 12 Hz; a fundamental without any harmonic must stand out more. The second needs its own."""
STEADY_DB = 2.0
"""Largest difference between the quarters of a window."""
LOUDEST_DBFS = -30.0
"""A louder tone is part of the music."""
BESIDE_HZ, NEAR_HZ = 12.0, 3.0


@dataclass(frozen=True, slots=True)
class Tone:
    """Mains hum in one channel of one stretch."""

    hz: float
    dbfs: float
    """RMS of the fundamental and those harmonics that stand out."""


def hum(window: Singles, rate_hz: float, response: Response) -> Tone | None:
    """The hum in (frames,) of decimated audio, about two seconds; None if there is no steady tone at a mains frequency.

    Parameters
    ----------
    rate_hz : of the decimated audio
    response : of the decimation, which is compensated
    """
    shape = _hann(len(window))
    power = np.abs(np.fft.rfft(window * shape)) ** 2 / (shape.sum() / 2) ** 2
    bin_hz = rate_hz / len(window)
    found = [tone for mains_hz in MAINS_HZ if (tone := _of_mains(window, power, bin_hz, rate_hz, mains_hz, response))]
    return max(found, key=lambda tone: tone.dbfs, default=None)


@cache
def _hann(frames: int) -> Array:
    return np.asarray(np.hanning(frames + 1)[:-1])


def _of_mains(
    window: Singles, power: Array, bin_hz: float, rate_hz: float, mains_hz: float, response: Response
) -> Tone | None:
    count = min(HARMONICS, int(0.4 * rate_hz / mains_hz))
    for base in BASE:
        if base > count:  # beyond what a low rate can have
            return None
        hz = _summit(power, bin_hz, base * mains_hz) / base
        if abs(hz / mains_hz - 1) > WANDERS:
            continue
        audible = _audible(power, bin_hz, hz, base, count)
        if not audible or not _is_steady(window, rate_hz, base * hz):
            continue
        if not _is_rhythm(power, bin_hz, hz, audible):
            tones = np.array([_tone_power(power, bin_hz, n * hz) for n in audible])
            energy = float((tones / response(hz * np.array(audible))).sum())
            dbfs = 10 * float(np.log10(max(energy, 1e-30)))
            return Tone(hz, dbfs) if dbfs < LOUDEST_DBFS else None
    return None


def _audible(power: Array, bin_hz: float, hz: float, base: int, count: int) -> list[int]:
    """Numbers of the first *count* harmonics that stand out, *base* and its multiples; empty if too few do."""
    first_db = _over_db(power, bin_hz, base * hz)
    if first_db <= OUTSTANDING_DB:
        return []
    multiples = range(2 * base, count + 1, base)
    others = [n for n in multiples if _over_db(power, bin_hz, n * hz) > OUTSTANDING_DB]
    return [base, *others] if others or (base == 1 and first_db >= ALONE_DB) else []


def _is_rhythm(power: Array, bin_hz: float, hz: float, audible: list[int]) -> bool:
    """True if there are lines between the harmonics of *hz* too, as a regular beat makes: a stroke every 0.12 s, say.

    These have lines at all multiples of a part of the first *audible* harmonic. Half of those from just before it to
    just behind the last one, and two at least, are enough: of hum there are none.
    """
    beyond, base = round(BESIDE_HZ / bin_hz), audible[0]
    over_db = _all_over_db(power[: round((audible[-1] + base) * hz / bin_hz) + 2 * beyond], bin_hz)
    for part in range(2, int(base * hz / LEAST_BEAT_HZ) + 1):
        numbers = range(part - 1, audible[-1] // base * part + 2)
        places = [round(number * base * hz / part / bin_hz) - beyond for number in numbers if base * number % part]
        shown = [over_db[place] > OUTSTANDING_DB for place in places if 0 <= place < len(over_db)]
        if sum(shown) >= max(2, len(shown) / 2):
            return True
    return False


def _all_over_db(power: Array, bin_hz: float) -> Array:
    """As `_over_db`, of every bin that has BESIDE_HZ on both sides."""
    far, near = round(BESIDE_HZ / bin_hz), round(NEAR_HZ / bin_hz)
    around = sliding_window_view(power, 2 * far + 1)
    beside = np.concatenate([around[:, : far - near], around[:, far + near + 1 :]], axis=1)
    tops = around[:, far - 1 : far + 2].max(axis=1)
    return np.asarray(10 * np.log10(np.maximum(tops, 1e-30) / np.maximum(medians(beside), 1e-30)))


def _summit(power: Array, bin_hz: float, near_hz: float) -> float:
    """Frequency of the highest bin within 1 Hz, between bins by a parabola through the levels."""
    reach = max(1, round(1 / bin_hz))
    middle = round(near_hz / bin_hz)
    top = middle - reach + int(np.argmax(power[middle - reach : middle + reach + 1]))
    below, at, above = np.log(np.maximum(power[top - 1 : top + 2], 1e-30))
    bend = below - 2 * at + above
    return float((top + (0.5 * (below - above) / bend if bend < 0 else 0.0)) * bin_hz)


def _over_db(power: Array, bin_hz: float, hz: float) -> float:
    """Level of the tone above the median of 3 to 12 Hz beside it."""
    middle, far, near = round(hz / bin_hz), round(BESIDE_HZ / bin_hz), round(NEAR_HZ / bin_hz)
    beside = np.concatenate([power[middle - far : middle - near], power[middle + near + 1 : middle + far + 1]])
    top = power[middle - 1 : middle + 2].max()
    return 10 * float(np.log10(max(top, 1e-30) / max(median(beside), 1e-30)))


def _tone_power(power: Array, bin_hz: float, hz: float) -> float:
    """Mean square of a tone, from the main lobe of a Hann window (whose noise bandwidth is 1.5 bins)."""
    middle = round(hz / bin_hz)
    return float(power[middle - 2 : middle + 3].sum()) / 2 / 1.5


def _is_steady(window: Singles, rate_hz: float, hz: float) -> bool:
    """True if the tone is equally strong in each quarter of the window."""
    quarter = len(window) // 4
    shape = _hann(quarter) * np.exp(-2j * np.pi * hz / rate_hz * np.arange(quarter))
    levels = np.abs(window[: 4 * quarter].reshape(4, quarter) @ shape)
    return bool(20 * np.log10(max(levels.max(), 1e-30) / max(levels.min(), 1e-30)) < STEADY_DB)
