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
Singles = NDArray[np.float32]
Spectra = NDArray[np.complex128]

HALVED = 2048
"""Samples that are halved again and again at once; a multiple of every decimation."""


def binomial(planar: Array, begin: int, every: int, out: Singles, first: int, end: int) -> None:
    """Filter by four boxes of *every* taps, a power of two, and keep every *every*-th sample: columns *first* to *end*.

    The first of them takes *planar*, (channels, frames), from *begin* on; 4 * every - 3 samples for each. Such a box is
    a cascade of means of two, each at half the rate of the one before: so a binomial filter of order four for each
    halving does the whole, with five taps at a time.
    """
    room = np.empty((3, HALVED + 4 * every), np.float32)
    with cython.nogil:
        for c in range(len(out)):
            _binomial(planar[c], begin, every, out[c], first, end, room[0], room[1], room[2])


def _binomial(
    x: Array, begin: int, every: int, out: Singles, first: int, end: int, even: Singles, odd: Singles, kept: Singles
) -> None:
    at = first
    while at < end:
        few = min(HALVED // every, end - at)
        start = begin + (at - first) * every
        width = every // 2
        count = few * width + 3 * (width - 1)
        for i in range(count + 1):
            even[i], odd[i] = x[start + 2 * i], x[start + 2 * i + 1]
        even[count + 1] = x[start + 2 * count + 2]
        scale = 1.0 / 16
        while width > 1:
            _weighted(even, odd, count, kept)
            width //= 2
            count = few * width + 3 * (width - 1)
            for i in range(count + 2):
                even[i], odd[i] = kept[2 * i], kept[2 * i + 1]
            scale /= 16
        _weighted(even, odd, few, kept)
        for i in range(few):
            out[at + i] = scale * kept[i]
        at += few


def _weighted(even: Singles, odd: Singles, count: int, kept: Singles) -> None:
    four, six = 4.0, 6.0
    for i in range(count):
        kept[i] = (even[i] + even[i + 2]) + (four * (odd[i] + odd[i + 1]) + six * even[i + 1])


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


def powers_and_products(spectra: Spectra, gain: Array, powers: Array, products: Array) -> None:
    """Power of each window, summed over channels, and the product of two channels.

    Parameters
    ----------
    spectra : (windows, channels, bins)
    gain : (used,) by which the first of these bins are multiplied; the rest is not used
    powers, products : (windows, used) the results; products are 0 unless there are two channels
    """
    pairs = spectra.view(np.float64)
    with cython.nogil:
        for window in range(len(powers)):
            _power_and_product(pairs[window], gain, powers[window], products[window])


def _power_and_product(pairs: Array, gain: Array, power: Array, product: Array) -> None:
    used = len(gain)
    for k in range(used):
        power[k] = product[k] = 0.0
    for c in range(len(pairs)):
        for k in range(used):
            power[k] += pairs[c, 2 * k] * pairs[c, 2 * k] + pairs[c, 2 * k + 1] * pairs[c, 2 * k + 1]
    if len(pairs) == 2:
        for k in range(used):
            product[k] = pairs[0, 2 * k] * pairs[1, 2 * k] + pairs[0, 2 * k + 1] * pairs[1, 2 * k + 1]
    for k in range(used):
        power[k] *= gain[k]
        product[k] *= gain[k]


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
