"""The last stage: a little saturation, a smooth limiter, a fade to silence; and the writer."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import soundfile

from demo.instruments import Array

CEILING_DBFS = -1.4
"""Low enough that what comes out of a rate conversion or an encoder still stays under -1 dBTP."""


def faded_out(sound: Array, rate_hz: int, fade_s: float, silence_s: float) -> Array:
    """(2, frames) with a squared-cosine fade of *fade_s*, then *silence_s* of nothing, both within its length."""
    quiet, fade = round(silence_s * rate_hz), round(fade_s * rate_hz)
    gain = np.ones(sound.shape[1])
    gain[-quiet:] = 0
    gain[-quiet - fade : -quiet] = np.cos(0.5 * np.pi * np.arange(fade) / fade) ** 2
    return sound * gain


def saturated(sound: Array) -> Array:
    """A gentle bend, straight for small signals: peaks of drums lose a few decibels, nothing is cut flat."""
    return np.tanh(sound)


def without_offset(sound: Array, rate_hz: int) -> Array:
    """(2, frames) less its own average over some 200 ms: saturation bends lopsided drums into an offset.

    Silence stays silence.
    """
    hop = rate_hz // 100
    frames = sound.shape[1]
    blocks = np.pad(sound, ((0, 0), (0, -frames % hop))).reshape(2, -1, hop)
    sounding = np.abs(blocks).max(axis=2) > 1e-6
    window = np.hanning(23)
    centres = (np.arange(blocks.shape[1]) + 0.5) * hop
    level = sound.copy()
    for side, heard, means in zip(level, sounding, blocks.mean(axis=2), strict=True):
        smooth = np.convolve(means, window / window.sum(), mode="same")
        side -= np.interp(np.arange(frames), centres, np.where(heard, smooth, 0.0))
    return level


def limited(sound: Array, rate_hz: int, ceiling_dbfs: float) -> Array:
    """(2, frames) held under a sample-peak ceiling by a gain that looks ahead and moves smoothly.

    Block peaks are held for 8 ms around each peak, released at 60 dB a second, then averaged over the same 8 ms: the
    average of gains that were all low enough is low enough.
    """
    hop = max(rate_hz // 3000, 1)
    frames = sound.shape[1]
    blocks = -(-frames // hop)
    padded = np.zeros((2, blocks * hop))
    padded[:, :frames] = np.abs(sound)
    peak_db = 20 * np.log10(np.maximum(padded.reshape(2, blocks, hop).max(axis=(0, 2)), 1e-6))
    over_db = np.maximum(peak_db - ceiling_dbfs, 0)
    reach = 12
    fall_db = 60 * hop / rate_hz * np.arange(blocks)
    held = np.lib.stride_tricks.sliding_window_view(np.pad(over_db, reach), 2 * reach + 1).max(axis=1)
    released = np.maximum(np.maximum.accumulate(held + fall_db) - fall_db, held)
    window = np.hanning(2 * reach + 1)
    smooth_db = np.convolve(np.pad(released, reach - 1, mode="edge"), window[1:-1] / window.sum(), mode="valid")
    centres = (np.arange(blocks) + 0.5) * hop
    return sound * 10 ** (-np.interp(np.arange(frames), centres, smooth_db) / 20)


def finished(mix: Array, rate_hz: int, drive_db: float, fade_s: float, silence_s: float) -> Array:
    """From a mix, (2, frames), to a master of the same shape at the song's loudness under the ceiling."""
    driven = without_offset(saturated(10 ** (drive_db / 20) * 0.25 * mix), rate_hz)
    return limited(faded_out(driven, rate_hz, fade_s, silence_s), rate_hz, CEILING_DBFS)


def write(path: Path, sound: Array, rate_hz: int, bits: int = 24, seed: int = 24) -> None:
    """Write (frames, channels) as PCM WAV: triangular dither of one step from *seed*, rounded, clipped."""
    rng = np.random.default_rng(seed)
    steps = 2 ** (bits - 1)
    noise = rng.random(sound.shape, dtype=np.float32) - rng.random(sound.shape, dtype=np.float32)
    integers = np.clip(np.rint(sound * steps + noise), -steps, steps - 1).astype(np.int32) << (32 - bits)
    soundfile.write(path, integers, rate_hz, subtype=f"PCM_{bits}", format="WAV")
