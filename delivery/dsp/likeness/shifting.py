"""Sound moved by a fraction of a sample: windowed-sinc interpolation, for comparing, never for what ships."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.spectrum._loops import filtered

Array = NDArray[np.float64]

REACH = 32
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
    places = np.arange(-REACH + 1, REACH + 1) - (start - whole)
    window = np.i0(BETA * np.sqrt(np.maximum(1 - (places / REACH) ** 2, 0)))
    taps = np.sinc(places * KEPT / every) * window
    source = np.ascontiguousarray(_piece(sound, whole - REACH + 1, frames + 2 * REACH - 1).T)
    out = np.empty((len(source), frames // every))
    filtered(source, 0, taps / taps.sum(), every, out, 0, out.shape[1])
    return out.T


def _piece(sound: Array, start: int, frames: int) -> Array:
    """A view where all of it is there."""
    first, last = max(start, 0), min(start + frames, len(sound))
    if (first, last) == (start, start + frames):
        return sound[first:last]
    out = np.zeros((sound.shape[1], frames)).T
    if last > first:
        out[first - start : last - start] = sound[first:last]
    return out
