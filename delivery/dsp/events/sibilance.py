"""The power of two bands of one signal, in steps: what hisses, and what it stands beside.

The channels' mean is decimated to the lowest rate that holds both bands, and each band is a symmetric filter there.
Single precision is plenty for bands within 100 dB of full scale, and twice as fast.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import ANY_ORDER, compiled

Array = NDArray[np.float64]
Singles = NDArray[np.float32]
Integers = NDArray[np.int64]

PAIRS, PAIRS_AT_HIGH_RATES = 12, 4
"""Taps on either side of a half-band filter that are not zero; at high rates little has to be kept from folding."""
HIGH_RATE_HZ = 64_000
HALF_BAND_BETA = 3.4
LEAST_RATE_HZ = 22_050
STRETCH = 1024
SPAN_S = 0.0018
"""Length of the bands' filters: slopes of about 1 kHz."""


def halvings(rate_hz: int) -> int:
    """How often a rate is halved without falling under LEAST_RATE_HZ."""
    return max(int(np.log2(rate_hz / LEAST_RATE_HZ)), 0)


def half_band(rate_hz: float) -> Singles:
    """(pairs,) weights of the odd distances 1, 3, 5 ... from the middle, whose own weight is a half.

    Behind it every second sample is dropped. It passes 10 kHz, and what would fold to below 10 kHz is 38 dB down at
    44.1 kHz (from 12.05 kHz on), more at other rates.
    """
    pairs = PAIRS_AT_HIGH_RATES if rate_hz > HIGH_RATE_HZ else PAIRS
    distance = np.arange(1, 2 * pairs, 2)
    weights = np.sinc(distance / 2) / 2 * np.i0(HALF_BAND_BETA * np.sqrt(1 - (distance / (2 * pairs)) ** 2))
    return np.asarray(weights / (4 * weights.sum()), np.float32)


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


@compiled()
def mean(planar: Array, mixed: Singles) -> None:
    """The channels' mean, (channels, frames) to (frames,)."""
    channels = len(planar)
    if channels == 2:
        left, right = planar[0], planar[1]
        for t in range(len(mixed)):
            mixed[t] = np.float32(0.5 * (left[t] + right[t]))
        return
    for t in range(len(mixed)):
        total = 0.0
        for c in range(channels):
            total += planar[c, t]
        mixed[t] = np.float32(total / channels)


@compiled()
def _split(x: Singles, first: Singles, second: Singles) -> None:
    """Every second sample, and those between: both in one loop, which the compiler then takes apart by itself."""
    for i in range(len(first)):
        first[i], second[i] = x[2 * i], x[2 * i + 1]


@compiled()
def _start(middle: Singles, odd: Singles, weights: Singles, kept: Singles) -> None:
    """The middle of a half-band filter and the four pairs of taps next to it."""
    half = np.float32(0.5)
    w0, w1, w2, w3 = weights[0], weights[1], weights[2], weights[3]
    for i in range(len(kept)):
        near, far = w0 * (odd[i + 3] + odd[i + 4]), w1 * (odd[i + 2] + odd[i + 5])
        kept[i] = half * middle[i] + ((near + far) + (w2 * (odd[i + 1] + odd[i + 6]) + w3 * (odd[i] + odd[i + 7])))


@compiled()
def _go_on(below: Singles, above: Singles, weights: Singles, kept: Singles) -> None:
    """Four pairs of taps further out."""
    w0, w1, w2, w3 = weights[0], weights[1], weights[2], weights[3]
    for i in range(len(kept)):
        near, far = w0 * (below[i + 3] + above[i]), w1 * (below[i + 2] + above[i + 1])
        kept[i] += (near + far) + (w2 * (below[i + 1] + above[i + 2]) + w3 * (below[i] + above[i + 3]))


@compiled()
def halve(x: Singles, weights: Singles, kept: Singles) -> None:
    """Every second sample of *x*, (2 n + taps - 1,) to (n,), behind the half-band filter of 4 pairs of taps or 8 ..."""
    pairs = len(weights)
    odd, middle = np.empty(STRETCH + 2 * pairs - 1, np.float32), np.empty(STRETCH + 2 * pairs - 1, np.float32)
    for at in range(0, len(kept), STRETCH):
        piece = kept[at : at + STRETCH]
        span = len(piece) + 2 * pairs - 1
        _split(x[2 * at : 2 * (at + span)], odd[:span], middle[:span])
        _start(middle[pairs - 1 :], odd[pairs - 4 :], weights[:4], piece)
        for k in range(4, pairs, 4):
            _go_on(odd[pairs - 4 - k :], odd[pairs + k :], weights[k:], piece)


def half_bands(rate_hz: int) -> Singles:
    """(halvings, PAIRS) the filters of all halvings, from the file's rate down; shorter ones end in zeros."""
    found = np.zeros((halvings(rate_hz), PAIRS), np.float32)
    for stage, row in enumerate(found):
        weights = half_band(rate_hz / 2**stage)
        row[: len(weights)] = weights
    return found


@compiled()
def _joined(waiting: Singles, count: int, frames: int) -> Singles:
    """Room for what is left waiting and for *frames* behind it, with the former in it."""
    joined = np.empty(count + frames, np.float32)
    joined[:count] = waiting[:count]
    return joined


@compiled()
def thinned(planar: Array, half_bands: Singles, spans: Integers, waiting: Singles, counts: Integers) -> Singles:
    """The channels' mean, halved as often as there are filters; led by what the bands left waiting.

    Parameters
    ----------
    planar : (channels, frames), any number of them
    half_bands, spans : from :func:`half_bands`, and ``taps - 1`` of each
    waiting : (halvings + 1, room) what each halving, and the bands, still have to look at; kept between blocks
    counts : (halvings + 1,) how many of them there are; begin with zeros as many as half a filter is long
    """
    x: Singles = _joined(waiting[0], counts[0], planar.shape[1])
    mean(planar, x[counts[0] :])
    for stage in range(len(spans)):
        span = spans[stage]
        kept = max(len(x) - span, 0) // 2
        behind = counts[stage + 1]
        y = _joined(waiting[stage + 1], behind, kept)
        halve(x, half_bands[stage, : (span + 2) // 4], y[behind:])
        counts[stage] = len(x) - 2 * kept
        waiting[stage, : counts[stage]] = x[2 * kept :]
        x = y
    return x


@compiled()
def _both(x: Singles, bands: Singles, one: Singles, other: Singles) -> None:
    """Two symmetric filters at once, four pairs of taps at a time to keep the processor fed."""
    reach, frames = bands.shape[1] - 1, len(one)
    middle, v, w = x[reach:], bands[0, 0], bands[1, 0]  # indices that cannot be negative
    for i in range(frames):
        one[i], other[i] = v * middle[i], w * middle[i]
    for k in range(1, reach + 1, 4):
        v0, v1, v2, v3 = bands[0, k], bands[0, k + 1], bands[0, k + 2], bands[0, k + 3]
        w0, w1, w2, w3 = bands[1, k], bands[1, k + 1], bands[1, k + 2], bands[1, k + 3]
        below, above = x[reach - k - 3 :], x[reach + k :]
        for i in range(frames):
            a, b = below[i + 3] + above[i], below[i + 2] + above[i + 1]
            c, d = below[i + 1] + above[i + 2], below[i] + above[i + 3]
            one[i] += (v0 * a + v1 * b) + (v2 * c + v3 * d)
            other[i] += (w0 * a + w1 * b) + (w2 * c + w3 * d)


@compiled(fast=ANY_ORDER)
def _energy(x: Singles) -> float:
    total = np.float32(0.0)
    for i in range(len(x)):
        total += x[i] * x[i]
    return float(total)


@compiled()
def band_energies(x: Singles, bands: Singles, ends: Integers, open_sums: Array, energies: Array) -> None:
    """Energy of two bands of *x*, for each step that ends in this block.

    Parameters
    ----------
    x : (frames + 2 * reach,)
    bands : (2, reach + 1) from :func:`band`
    ends : (steps,) from ``kweighting.step_ends``
    open_sums : (2,) of the step that is not finished yet; zeros at the start, kept between blocks
    energies : (steps, 2), the result
    """
    reach = bands.shape[1] - 1
    frames = len(x) - 2 * reach
    one, other = np.empty(frames, np.float32), np.empty(frames, np.float32)
    for at in range(0, frames, STRETCH):
        end = min(at + STRETCH, frames)
        _both(x[at : end + 2 * reach], bands, one[at:end], other[at:end])
    at = 0
    for step in range(len(ends) + 1):
        end = ends[step] if step < len(ends) else frames
        open_sums[0] += _energy(one[at:end])
        open_sums[1] += _energy(other[at:end])
        at = end
        if step < len(ends):
            energies[step] = open_sums
            open_sums[:] = 0.0
