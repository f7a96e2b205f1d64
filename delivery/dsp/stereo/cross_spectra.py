"""Figures from the average spectra of two channels: mono loss by octave, side against mid, delay."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.stereo._loops import add_cross as add_cross
from delivery.dsp.stereo.layout import IMAGINARY
from delivery.dsp.stereo.layout import LEFT as LEFT
from delivery.dsp.stereo.layout import REAL as REAL
from delivery.dsp.stereo.layout import RIGHT as RIGHT

Array = NDArray[np.float64]

ROWS = 4
OCTAVES = range(-5, 5)
"""31.5 Hz to 16 kHz: 1000 * 10**(3 k / 10) Hz (IEC 61260-1, base ten)."""
NOMINAL_HZ = (31.5, 63.0, 125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0, 16_000.0)
EMPTY = 1e-8
"""An octave with less than this share of the whole power counts as silent."""
DEEPEST_DB = 120.0

DELAY_HZ = (100.0, 8000.0)
DELAY_MOST_S = 0.05
AUDIBLE = 1e-8
"""Lines with less than this share of the strongest one's power are leakage or noise."""
LEAST_SHARE = 0.25
"""Share of the lines that must be audible before a delay can be found: a few tones match many delays."""
CLEAR, ALONE = 0.25, 2.0
"""Minimum height of the correlation's peak (1: the same audio), and its distance above all others."""
APART_S = 0.001


def share_to_decibels(kept: Array) -> Array:
    """Level lost if this share of the power is kept; at least -DEEPEST_DB."""
    return np.asarray(-10 * np.log10(np.maximum(kept, 10 ** (-DEEPEST_DB / 10))) + 0.0)


def side_mid_db(both: Array, product: Array) -> Array:
    """Level of left - right over left + right, from the sum of their powers and of their products; within +-120."""
    least = np.maximum(10 ** (-DEEPEST_DB / 10) * both, 1e-300)
    ratio = np.maximum(both - 2 * product, least) / np.maximum(both + 2 * product, least)
    return np.asarray(np.clip(10 * np.log10(ratio), -DEEPEST_DB, DEEPEST_DB))


def delay_frames(sums: Array, rate_hz: int) -> int | None:
    """Frames by which the right channel is later than the left; 0 if no delay is clear.

    Every line of the average cross-spectrum is weighted by the steadiness of its phase, not by its level (a correlation
    of whitened channels). None if too few lines are audible to determine a delay.
    """
    bins = sums.shape[1]
    hz = np.arange(bins) * rate_hz / (2 * (bins - 1))
    requested = (hz >= DELAY_HZ[0]) & (hz <= DELAY_HZ[1])
    weaker = np.minimum(sums[LEFT], sums[RIGHT])
    audible = requested & (weaker > AUDIBLE * weaker.max(initial=0.0))
    if np.count_nonzero(audible) < LEAST_SHARE * np.count_nonzero(requested):
        return None
    steady = np.zeros(bins, np.complex128)
    steady[audible] = (sums[REAL] + 1j * sums[IMAGINARY])[audible] / np.sqrt(sums[LEFT] * sums[RIGHT])[audible]
    peaks = np.abs(np.fft.irfft(steady)) * (bins - 1) / np.count_nonzero(audible)
    most, apart = round(DELAY_MOST_S * rate_hz), max(round(APART_S * rate_hz), 1)
    around = np.concatenate([peaks[-most:], peaks[: most + 1]])
    at = int(around.argmax())
    others = np.concatenate([around[: max(at - apart, 0)], around[at + apart + 1 :]])
    clear = around[at] >= CLEAR and around[at] >= ALONE * others.max(initial=0.0)
    return at - most if clear else 0
