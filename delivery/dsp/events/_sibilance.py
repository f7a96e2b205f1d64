"""The loops over every sample that look for sibilance: decimation by half-band filters, and two band-pass filters.

C types are declared in ``_sibilance.pxd``.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython
if not cython.compiled:
    from delivery.dsp.uncompiled import report

    report()

Array = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

STRETCH = 1024


def mean(planar: Array, mixed: Singles) -> None:
    """Mean of the channels, (channels, frames) to (frames,)."""
    with cython.nogil:
        _mean(planar, mixed, 0)


def _mean(planar: Array, mixed: Singles, at: int) -> None:
    channels, frames = len(planar), planar.shape[1]
    if channels == 2:
        for t in range(frames):
            mixed[at + t] = 0.5 * (planar[0, t] + planar[1, t])
        return
    for t in range(frames):
        total = 0.0
        for c in range(channels):
            total += planar[c, t]
        mixed[at + t] = total / channels


def _split(x: Singles, at: int, count: int, first: Singles, second: Singles) -> None:
    """Split into even and odd samples."""
    for i in range(count):
        first[i], second[i] = x[at + 2 * i], x[at + 2 * i + 1]


def _start(middle: Singles, odd: Singles, pairs: int, weights: Singles, kept: Singles, at: int, count: int) -> None:
    """Centre tap of a half-band filter and the four pairs of taps next to it."""
    w0, w1, w2, w3 = weights[0], weights[1], weights[2], weights[3]
    half = 0.5
    m, o = pairs - 1, pairs - 4
    for i in range(count):
        near, far = w0 * (odd[o + i + 3] + odd[o + i + 4]), w1 * (odd[o + i + 2] + odd[o + i + 5])
        wide, last = w2 * (odd[o + i + 1] + odd[o + i + 6]), w3 * (odd[o + i] + odd[o + i + 7])
        kept[at + i] = half * middle[m + i] + ((near + far) + (wide + last))


def _go_on(odd: Singles, b: int, a: int, weights: Singles, k: int, kept: Singles, at: int, count: int) -> None:
    """The next four pairs of taps."""
    w0, w1, w2, w3 = weights[k], weights[k + 1], weights[k + 2], weights[k + 3]
    for i in range(count):
        near, far = w0 * (odd[b + i + 3] + odd[a + i]), w1 * (odd[b + i + 2] + odd[a + i + 1])
        wide, last = w2 * (odd[b + i + 1] + odd[a + i + 2]), w3 * (odd[b + i] + odd[a + i + 3])
        kept[at + i] += (near + far) + (wide + last)


def halve(x: Singles, weights: Singles, kept: Singles) -> None:
    """Apply a half-band filter to *x* and keep every second sample: (2 n + taps - 1,) to (n,)."""
    room = np.empty((2, STRETCH + 2 * len(weights)), np.float32)
    with cython.nogil:
        _halve(x, weights, len(weights), kept, 0, len(kept), room[0], room[1])


def _halve(
    x: Singles, weights: Singles, pairs: int, kept: Singles, behind: int, count: int, odd: Singles, middle: Singles
) -> None:
    at = 0
    while at < count:
        few = min(STRETCH, count - at)
        _split(x, 2 * at, few + 2 * pairs - 1, odd, middle)
        _start(middle, odd, pairs, weights, kept, behind + at, few)
        for k in range(4, pairs, 4):
            _go_on(odd, pairs - 4 - k, pairs + k, weights, k, kept, behind + at, few)
        at += STRETCH


def thinned(planar: Array, half_bands: Singles, spans: Integers, waiting: Singles, counts: Integers) -> Singles:
    """Mean of the channels, decimated by two once for each filter; samples that the bands still need come first.

    Parameters
    ----------
    planar : (channels, frames), any number of frames
    half_bands, spans : from ``sibilance.half_bands``, and ``taps - 1`` of each
    waiting : (halvings + 1, capacity) samples not yet used by each halving and by the bands; kept between blocks
    counts : (halvings + 1,) number of these; at the start half the filter's length, of zeros
    """
    room = np.empty((2, STRETCH + 2 * half_bands.shape[1]), np.float32)
    led = np.empty(counts[0] + planar.shape[1], np.float32)
    x = led
    with cython.nogil:
        _lead(waiting[0], counts[0], x)
        _mean(planar, x, counts[0])
    for stage in range(len(spans)):
        kept = max(len(led) - spans[stage], 0) // 2
        behind = counts[stage + 1]
        halved = np.empty(behind + kept, np.float32)
        y = halved
        with cython.nogil:
            _lead(waiting[stage + 1], behind, y)
            _halve(x, half_bands[stage], (spans[stage] + 2) // 4, y, behind, kept, room[0], room[1])
            counts[stage] = len(x) - 2 * kept
            for i in range(counts[stage]):
                waiting[stage, i] = x[2 * kept + i]
        x = y
        led = halved
    return led


def _lead(waiting: Singles, count: int, x: Singles) -> None:
    for i in range(count):
        x[i] = waiting[i]


def _both(x: Singles, begin: int, frames: int, bands: Singles, one: Singles, other: Singles) -> None:
    """Two symmetric filters at once, four pairs of taps at a time, so that the additions do not wait for each other."""
    reach = bands.shape[1] - 1
    v, w, m = bands[0, 0], bands[1, 0], begin + reach
    for i in range(frames):
        one[begin + i], other[begin + i] = v * x[m + i], w * x[m + i]
    for k in range(1, reach + 1, 4):
        v0, v1, v2, v3 = bands[0, k], bands[0, k + 1], bands[0, k + 2], bands[0, k + 3]
        w0, w1, w2, w3 = bands[1, k], bands[1, k + 1], bands[1, k + 2], bands[1, k + 3]
        below, above = m - k - 3, m + k
        for i in range(frames):
            a, b = x[below + i + 3] + x[above + i], x[below + i + 2] + x[above + i + 1]
            c, d = x[below + i + 1] + x[above + i + 2], x[below + i] + x[above + i + 3]
            one[begin + i] += (v0 * a + v1 * b) + (v2 * c + v3 * d)
            other[begin + i] += (w0 * a + w1 * b) + (w2 * c + w3 * d)


def _energy(x: Singles, begin: int, end: int) -> float:
    lanes = [0.0] * 16
    whole = (end - begin) // 16 * 16
    for i in range(begin, begin + whole, 16):
        for k in range(16):
            lanes[k] += x[i + k] * x[i + k]
    for i in range(begin + whole, end):
        lanes[0] += x[i] * x[i]
    for k in range(8):
        lanes[k] += lanes[k + 8]
    for k in range(4):
        lanes[k] += lanes[k + 4]
    return (lanes[0] + lanes[1]) + (lanes[2] + lanes[3])


def band_energies(x: Singles, bands: Singles, ends: Integers, open_sums: Array, energies: Array) -> None:
    """Energy of two bands of *x* in each step that ends in this block.

    Parameters
    ----------
    x : (frames + 2 * reach,)
    bands : (2, reach + 1) from ``sibilance.band``
    ends : (steps,) from ``k_weighting.step_ends``
    open_sums : (2,) sums of the unfinished step; zeros at the start, kept between blocks
    energies : (steps, 2), the result
    """
    frames = len(x) - 2 * (bands.shape[1] - 1)
    room = np.empty((2, frames), np.float32)
    with cython.nogil:
        _band_energies(x, bands, ends, open_sums, energies, frames, room[0], room[1])


def _band_energies(
    x: Singles,
    bands: Singles,
    ends: Integers,
    open_sums: Array,
    energies: Array,
    frames: int,
    one: Singles,
    other: Singles,
) -> None:
    at = 0
    while at < frames:
        _both(x, at, min(STRETCH, frames - at), bands, one, other)
        at += STRETCH
    at = 0
    for step in range(len(ends) + 1):
        end = ends[step] if step < len(ends) else frames
        open_sums[0] += _energy(one, at, end)
        open_sums[1] += _energy(other, at, end)
        at = end
        if step < len(ends):
            energies[step, 0], energies[step, 1] = open_sums[0], open_sums[1]
            open_sums[0] = open_sums[1] = 0.0
