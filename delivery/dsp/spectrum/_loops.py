"""Loops over samples and bins of long-term spectra.

C types are declared in ``_loops.pxd``. Long sums are written as parallel lanes: compilers may not reorder
floating-point sums, so every processor gives the same figures.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.spectrum.layout import BINS_A_BAND, INFRASONIC_BINS

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
    from delivery.dsp.uncompiled import report

    report()

Array = NDArray[np.float64]
Spectra = NDArray[np.complex128]

HALVED = 1024
"""Samples that are halved again and again at once; a multiple of every decimation."""


def filtered(planar: Array, begin: int, taps: Array, every: int, out: Array, first: int, end: int) -> None:
    """Filter, and keep every *every*-th sample, for columns *first* to *end* of *out*.

    out[c, first + j] is the sum of taps[i] * planar[c, begin + j * every + i].
    """
    with cython.nogil:
        for c in range(len(out)):
            _filtered(planar[c], begin, taps, every, out[c], first, end)


def _filtered(x: Array, begin: int, taps: Array, every: int, out: Array, first: int, end: int) -> None:
    for j in range(end - first):
        out[first + j] = _product(x, begin + j * every, taps)


def _product(x: Array, at: int, taps: Array) -> float:
    lanes = [0.0] * 8
    whole = len(taps) // 8 * 8
    for i in range(0, whole, 8):
        for k in range(8):
            lanes[k] += x[at + i + k] * taps[i + k]
    for i in range(whole, len(taps)):
        lanes[0] += x[at + i] * taps[i]
    return ((lanes[0] + lanes[1]) + (lanes[2] + lanes[3])) + ((lanes[4] + lanes[5]) + (lanes[6] + lanes[7]))


def binomial(planar: Array, begin: int, every: int, out: Array, first: int, end: int) -> None:
    """As :func:`filtered`, for four boxes of *every* taps, a power of two, and three means of two.

    Such a box is a cascade of means of two, each at half the rate of the one before. So the whole is a binomial filter
    of order seven and then, for each further halving, one of order four, with no more than eight taps at a time.
    """
    room = np.empty((3, HALVED + 4 * every))
    with cython.nogil:
        for c in range(len(out)):
            _binomial(planar[c], begin, every, out[c], first, end, room[0], room[1], room[2])


def _binomial(
    x: Array, begin: int, every: int, out: Array, first: int, end: int, even: Array, odd: Array, kept: Array
) -> None:
    at = first
    while at < end:
        few = min(HALVED // every, end - at)
        count = (few + 3) * every // 2
        _split(x, begin + (at - first) * every, count, even, odd)
        count -= 3
        scale = 1.0 / 128
        for i in range(count):
            ends, near = even[i] + odd[i + 3], odd[i] + even[i + 3]
            wide, middle = even[i + 1] + odd[i + 2], odd[i + 1] + even[i + 2]
            kept[i] = (ends + 7.0 * near) + (21.0 * wide + 35.0 * middle)
        width = every // 2
        while width > 1:
            count //= 2
            _split(kept, 0, count + 1, even, odd)
            count -= 1
            for i in range(count):
                kept[i] = (even[i] + even[i + 2]) + 4.0 * (odd[i] + odd[i + 1]) + 6.0 * even[i + 1]
            width //= 2
            scale /= 16
        for i in range(few):
            out[at + i] = scale * kept[i]
        at += few


def _split(x: Array, at: int, count: int, even: Array, odd: Array) -> None:
    for i in range(count):
        even[i], odd[i] = x[at + 2 * i], x[at + 2 * i + 1]


def add_power(spectra: Spectra, least: float, power: Array, total: Array, bands: Array) -> bool:
    """Add the power of one window, summed over channels, if it is loud enough; returns whether it was.

    Parameters
    ----------
    spectra : (channels, bins)
    least : windows with less power in total are left out
    power : (bins,) the power of this window
    total : (bins,) running sum over windows
    bands : (bins // BINS_A_BAND,) the mean power of each narrow band of this window
    """
    pairs = np.ascontiguousarray(spectra).view(np.float64)
    with cython.nogil:
        return _add_power(pairs, least, power, total, bands)


def _add_power(pairs: Array, least: float, power: Array, total: Array, bands: Array) -> bool:
    bins = len(power)
    for k in range(bins):
        power[k] = 0.0
    for c in range(len(pairs)):
        for k in range(bins):
            power[k] += pairs[c, 2 * k] * pairs[c, 2 * k] + pairs[c, 2 * k + 1] * pairs[c, 2 * k + 1]
    for k in range(min(INFRASONIC_BINS, bins)):
        power[k] = 0.0
    if _sum(power, 0, bins) < least:
        return False
    for k in range(bins):
        total[k] += power[k]
    for band in range(len(bands)):
        bands[band] = _sum(power, band * BINS_A_BAND, (band + 1) * BINS_A_BAND) / BINS_A_BAND
    return True


def _sum(x: Array, begin: int, end: int) -> float:
    lanes = [0.0] * 8
    whole = begin + (end - begin) // 8 * 8
    for i in range(begin, whole, 8):
        for k in range(8):
            lanes[k] += x[i + k]
    for i in range(whole, end):
        lanes[0] += x[i]
    return ((lanes[0] + lanes[1]) + (lanes[2] + lanes[3])) + ((lanes[4] + lanes[5]) + (lanes[6] + lanes[7]))


def band_sums(powers: Array, edges: Array, bin_hz: float) -> Array:
    """Power between each pair of edges in Hz; a bin counts by the share of its width inside.

    Parameters
    ----------
    powers : (windows, bins)
    edges : (bands, 2)

    Returns
    -------
    (windows, bands)
    """
    sums = np.empty((len(powers), len(edges)))
    found, rows = sums, np.ascontiguousarray(powers)
    with cython.nogil:
        for window in range(len(found)):
            for band in range(len(edges)):
                low, high = edges[band, 0] / bin_hz + 0.5, edges[band, 1] / bin_hz + 0.5
                found[window, band] = _between(rows[window], low, high)
    return sums


def _between(power: Array, low: float, high: float) -> float:
    """Power between *low* and *high*, in bins from the lower end of bin 0."""
    top = len(power)
    low = min(max(low, 0.0), top)
    high = min(max(high, low), top)
    first, last = int(low), int(high)
    first, last = min(first, top - 1), min(last, top - 1)
    return _sum(power, first, last) - (low - first) * power[first] + (high - last) * power[last]
