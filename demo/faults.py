"""The faults that masters really arrive with, planted on purpose; (frames, 2) float64 in and out."""

from __future__ import annotations

import numpy as np

from demo.instruments import Array


def with_overs(sound: Array, rate_hz: int, places: int = 3) -> Array:
    """Peaks between samples: the loudest moments get a millisecond of a tone at a quarter of the rate, 45 degrees off.

    Such a tone's samples all are at 0.71 of its true peak (the example of ITU-R BS.1770, Annex 2), so every sample
    stays below full scale while the reconstructed wave passes it by some 0.4 dB.
    """
    spoiled = sound.copy()
    loudness = np.abs(sound).max(axis=1)
    half = round(0.0005 * rate_hz)
    bell = np.hanning(2 * half + 1)
    for _ in range(places):
        peak = int(np.argmax(loudness))
        side = int(np.argmax(np.abs(sound[peak])))
        tone = np.cos(np.pi / 2 * np.arange(-half, half + 1) - np.pi / 4) * bell
        room = 0.996 - abs(sound[peak, side])
        spoiled[peak - half : peak + half + 1, side] += np.sqrt(2) * room * np.sign(sound[peak, side]) * tone
        loudness[max(peak - rate_hz, 0) : peak + rate_hz] = 0
    return spoiled


def clipped(sound: Array, push_db: float = 4.0) -> Array:
    """Pushed over full scale and cut flat there, as a converter or a careless export does."""
    return np.clip(10 ** (push_db / 20) * sound, -1.5, 1.5)  # the writer clips and leaves the flat tops


def upsampled(sound: Array, from_hz: int, to_hz: int) -> Array:
    """The same sound at a higher rate, with nothing new above the old one's Nyquist frequency."""
    import soxr

    raised: Array = soxr.resample(sound, from_hz, to_hz, quality="VHQ")
    return raised


def with_silence(sound: Array, rate_hz: int, seconds: float) -> Array:
    """Dead air after the end."""
    return np.concatenate([sound, np.zeros((round(seconds * rate_hz), sound.shape[1]))])
