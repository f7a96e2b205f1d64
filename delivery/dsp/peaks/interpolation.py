"""The waveform between the samples: a windowed-sinc interpolator with 16 places per sample.

ITU-R BS.1770-5, Annex 2 lets a meter oversample more than its own fourfold example; 16 places limit the under-read of a
tone at 20 kHz in 44.1 kHz sound to 0.035 dB (Attachment 1: 20 lg cos(pi f / n)), and 48 taps keep the interpolator
itself within 0.005 dB up to there; from 88.2 kHz on 24 taps do so up to 0.39 of the rate. Place 0 is the sample itself,
so a true peak is never below the sample peak.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

PLACES = 16
TAPS, TAPS_AT_HIGH_RATES = 48, 24
HIGH_RATE_HZ = 64_000
LONG_TAPS = 256
"""For the second look at the highest positions: flat to 0.01 dB up to 0.49 of the rate, where the short rows are flat
to 0.45. Clipped audio has much energy there."""
KAISER_BETA = 7.0


def interpolators(rate_hz: int) -> Array:
    """(PLACES, taps) weights; row p gives the value p/16 of the way from tap taps/2 - 1 to the next one.

    Each row sums to one, so that a constant is unchanged.
    """
    return _rows(TAPS_AT_HIGH_RATES if rate_hz > HIGH_RATE_HZ else TAPS)


def long_interpolators() -> Array:
    """(PLACES, LONG_TAPS) weights of the same kind, for the few highest positions."""
    return _rows(LONG_TAPS)


@cache
def _rows(count: int) -> Array:
    """Computed once, and not to be written to: a trial of a conversion makes a meter for each of its places."""
    taps = np.arange(count, dtype=np.float64) - before(count)
    rows = _weights(taps - np.arange(PLACES)[:, None] / PLACES, count // 2)
    rows[0] = np.rint(rows[0])
    rows[1:] /= rows[1:].sum(axis=1, keepdims=True)
    rows.flags.writeable = False
    return rows


def before(taps: int) -> int:
    """Samples needed before the one at which an interval begins; as many are needed after its end."""
    return taps // 2 - 1


def _weights(distance: Array, reach: int) -> Array:
    inside = np.maximum(1 - (distance / reach) ** 2, 0)
    return np.asarray(np.sinc(distance) * np.i0(KAISER_BETA * np.sqrt(inside)) / np.i0(KAISER_BETA))


NEAR = 4
"""Second differences on either side of an interval's start that matter most."""


@cache
def bounds(taps: int) -> Array:
    """(3, 3): how far the waveform can rise above two known values of it that lie 16, 8 or 4 places apart, in rows of
    so many *taps*.

    No value between them exceeds the larger one by more than the first number times the largest of the 2 * NEAR next
    second differences, plus the second times the largest of all, plus the third times the largest sample: a row less
    the straight line between two others, summed up twice, gives the weights of the second differences.
    """
    rows, begin = _rows(taps), before(taps)
    places = np.concatenate([rows, np.eye(taps)[begin + 1 : begin + 2]])
    found = []
    for apart in (PLACES, PLACES // 2, PLACES // 4):
        off_line = [
            places[start + step] - (places[start] * (apart - step) + places[start + apart] * step) / apart
            for start in range(0, PLACES, apart)
            for step in range(apart)
        ]
        twice = np.abs(np.cumsum(np.cumsum(off_line, axis=1), axis=1))
        near = twice[:, begin - NEAR : begin + NEAR].sum(axis=1)
        far = twice[:, :-1].sum(axis=1) - near
        found.append((near.max(), far.max(), 2 * twice[:, -1].max()))
    result = np.array(found)
    result.flags.writeable = False
    return result
