"""Sound moved by a fraction of a sample: windowed-sinc interpolation, for comparing, never for what ships."""

from __future__ import annotations

from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.likeness._loops import followed, thinned
from delivery.dsp.likeness.layout import TAPS

Array = NDArray[np.float64]

REACH = TAPS // 2
"""Frames on either side of a place that decide it."""
WHOLE = 1e-6
"""Nearer to a frame than this is on it."""
BETA = 10.0
"""Kaiser window: side lobes near -100 dB, flat within 0.01 dB up to 0.88 of half the rate."""


def taps_for(fraction: float) -> Array:
    """(2 * REACH,) taps that read the waveform *fraction* of a frame (0 to 1) behind a frame; their sum is 1."""
    places = np.arange(-REACH + 1, REACH + 1) - fraction
    window = np.i0(BETA * np.sqrt(np.maximum(1 - (places / REACH) ** 2, 0))) / np.i0(BETA)
    taps = np.sinc(places) * window
    return np.asarray(taps / taps.sum())


def shifted(sound: Array, start: float, frames: int) -> Array:
    """(frames, channels) read from the place *start* of *sound*, which may lie between frames; zeros outside it."""
    whole = int(np.floor(start))
    fraction = start - whole
    if fraction < WHOLE:
        return _piece(sound, whole, frames)
    source = _piece(sound, whole - REACH + 1, frames + 2 * REACH - 1).T
    size = 1 << (source.shape[1] - 1).bit_length()  # values that wrap around are not used
    response = np.fft.rfft(taps_for(fraction)[::-1], size)
    convolved = np.fft.irfft(np.fft.rfft(source, size) * response, size)
    return np.asarray(convolved[:, 2 * REACH - 1 : 2 * REACH - 1 + frames]).T


KEPT = 0.9
"""Of half the rate that is handed on: what a low-pass of 2 * REACH taps keeps, at -6 dB; it is flat up to 0.8."""


def low_passed(sound: Array, start: float, frames: int, every: int) -> Array:
    """Each *every*-th frame of *sound* from the place *start* on, behind one low-pass wherever between frames it is.

    Two sounds read so can be subtracted: the filter takes the same from both.

    Parameters
    ----------
    sound : (n, channels); zeros outside it
    frames : before *every*; a multiple of it

    Returns
    -------
    (frames / every, channels)
    """
    whole = int(np.floor(start))
    taps = _low_pass(start - whole, every).astype(np.float32)
    source = _piece(sound, whole - REACH + 1, frames + 2 * REACH - 1).T
    out = np.empty((len(source), frames // every))
    for channel, found in zip(source, out, strict=True):
        thinned(np.ascontiguousarray(channel), 0, taps, every, found)
    return out.T


FRACTIONS = 256
"""Places of a table within one frame; mixing two neighbours errs by less than -110 dB."""


def low_passed_along(sound: Array, start: float, frames: int, every: int, drift: float) -> Array:
    """As `low_passed`, of a sound whose clock runs differently: frame n of the result is read at
    ``start + n * every * (1 + drift)``.
    """
    first = int(np.floor(start)) - REACH + 1
    last = int(np.ceil(start + frames * (1 + drift))) + REACH + 1
    source = np.ascontiguousarray(_piece(sound, first, last - first).T)
    out = np.empty((len(source), frames // every))
    followed(source, start - first, every * (1 + drift), _clock_table(every), out)
    return out.T


@cache
def _clock_table(every: int) -> Array:
    """(FRACTIONS + 1, TAPS) taps for places from 0 to 1 frame behind a frame."""
    return np.array([_low_pass(place, every) for place in np.arange(FRACTIONS + 1) / FRACTIONS])


@lru_cache(512)
def _low_pass(fraction: float, every: int) -> Array:
    """(TAPS,) taps that read at *fraction* of a frame behind a frame; their sum is 1."""
    places = np.arange(-REACH + 1, REACH + 1) - fraction
    window = np.i0(BETA * np.sqrt(np.maximum(1 - (places / REACH) ** 2, 0)))
    taps = np.sinc(places * KEPT / every) * window
    return np.asarray(taps / taps.sum())


def _piece(sound: Array, start: int, frames: int) -> Array:
    """A view where all of it is there."""
    first, last = max(start, 0), min(start + frames, len(sound))
    if (first, last) == (start, start + frames):
        return sound[first:last]
    out = np.zeros((sound.shape[1], frames)).T
    if last > first:
        out[first - start : last - start] = sound[first:last]
    return out
