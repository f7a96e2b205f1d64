"""Power of two bands of one signal, in steps: sibilance, and the voice band for comparison.

The channels' mean is decimated to the lowest rate that holds both bands, and each band is a symmetric filter there.
Single precision is enough for bands within 100 dB of full scale, and twice as fast.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.events._sibilance import band_energies as band_energies
from delivery.dsp.events._sibilance import halve as halve
from delivery.dsp.events._sibilance import mean as mean
from delivery.dsp.events._sibilance import thinned as thinned
from delivery.dsp.spectrum.decimation import half_band as half_band_of

Array = NDArray[np.float64]
Singles = NDArray[np.float32]

PAIRS, PAIRS_AT_HIGH_RATES = 12, 4
"""Non-zero taps on either side of a half-band filter; at high rates little has to be kept from aliasing."""
HIGH_RATE_HZ = 64_000
HALF_BAND_BETA = 3.4
LEAST_RATE_HZ = 22_050
SPAN_S = 0.0018
"""Length of the bands' filters: slopes of about 1 kHz."""


def halvings(rate_hz: int) -> int:
    """How often a rate can be halved without falling below LEAST_RATE_HZ."""
    return max(int(np.log2(rate_hz / LEAST_RATE_HZ)), 0)


def half_band(rate_hz: float) -> Singles:
    """(pairs,) weights of the odd distances 1, 3, 5 ... from the middle, whose own weight is 0.5.

    After it every second sample is dropped. It passes 10 kHz, and aliases below 10 kHz are 38 dB down at 44.1 kHz (from
    12.05 kHz on), more at other rates.
    """
    return half_band_of(PAIRS_AT_HIGH_RATES if rate_hz > HIGH_RATE_HZ else PAIRS, HALF_BAND_BETA)


def taps(half_band: Singles) -> int:
    """Length of that filter, with its zeros."""
    return 4 * len(half_band) - 1


def band(low_hz: float, high_hz: float, rate_hz: float) -> Singles:
    """Weights of the distances 0, 1, 2 ... of a windowed band-pass of unit gain in the middle of its band."""
    reach = 4 * round(SPAN_S / 8 * rate_hz)
    distance = np.arange(reach + 1)
    ideal = sum(
        sign * 2 * hz / rate_hz * np.sinc(2 * hz / rate_hz * distance) for sign, hz in ((1, high_hz), (-1, low_hz))
    )
    weights = ideal * (0.5 + 0.5 * np.cos(np.pi * distance / (reach + 1)))
    middle = np.cos(np.pi * (low_hz + high_hz) / rate_hz * distance)
    return np.asarray(weights / (weights[0] + 2 * (weights[1:] @ middle[1:])), np.float32)


def half_bands(rate_hz: int) -> Singles:
    """(halvings, PAIRS) filters of all halvings, from the file's rate down; shorter ones are zero-padded."""
    found = np.zeros((halvings(rate_hz), PAIRS), np.float32)
    for stage, row in enumerate(found):
        weights = half_band(rate_hz / 2**stage)
        row[: len(weights)] = weights
    return found
