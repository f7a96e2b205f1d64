"""The band's instruments: each gives one hit or note as (frames,) or (2, frames) float64, peak near 1.0.

Everything is drawn at the song's own rate, so partials and noise reach up to that rate's Nyquist frequency and the
files are as wide as they claim. The sounds are plain textbook synthesis: decaying sines, shaped noise, wavetables
with as many harmonics as fit, and one frequency-modulated pair.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

TABLE = 1 << 14
MICROPHONE_HZ = 26_000
"""Where a good microphone begins to let go; what it leaves above is still there at 96 kHz, as in any genuine take."""


def time_s(rate_hz: int, seconds: float) -> Array:
    """Instants of a sound of that length, (frames,)."""
    return np.arange(round(seconds * rate_hz)) / rate_hz


def pitch_hz(midi: float) -> float:
    """Equal temperament, A4 = note 69 = 440 Hz."""
    return float(440.0 * 2.0 ** ((midi - 69) / 12))


def faded(sound: Array, rate_hz: int, in_s: float = 0.002, out_s: float = 0.02) -> Array:
    """*sound* with raised-cosine ends, so that no note clicks."""
    shaped = sound.copy()
    for seconds, ends in ((in_s, slice(None)), (out_s, slice(None, None, -1))):
        frames = min(round(seconds * rate_hz), sound.shape[-1])
        ramp = 0.5 - 0.5 * np.cos(np.pi * np.arange(frames) / max(frames, 1))
        shaped[..., ends][..., :frames] *= ramp
    return shaped


def shaped_noise(rng: np.random.Generator, rate_hz: int, seconds: float, low_hz: float, high_hz: float) -> Array:
    """Noise with second-order skirts below *low_hz* and above *high_hz*, through a microphone; rms 1.0, (frames,)."""
    frames = round(seconds * rate_hz)
    size = 1 << (frames - 1).bit_length()
    spectrum = np.fft.rfft(rng.standard_normal(frames), size)
    f = np.fft.rfftfreq(size, 1 / rate_hz)
    skirt = (f / low_hz) ** 2 / (1 + (f / low_hz) ** 2) / (1 + (f / high_hz) ** 2) / (1 + (f / MICROPHONE_HZ) ** 4)
    wave = np.fft.irfft(spectrum * skirt, size)[:frames]
    loud: Array = wave / np.sqrt(np.mean(wave**2))
    return loud


def without_lows(sound: Array, rate_hz: int, low_hz: float) -> Array:
    """*sound* through a fourth-order high-pass without phase; its circular ends are faded by the caller."""
    size = 1 << (sound.shape[-1] - 1).bit_length()
    steep = (np.fft.rfftfreq(size, 1 / rate_hz) / low_hz) ** 4
    return np.fft.irfft(np.fft.rfft(sound, size) * (steep / (1 + steep)), size)[..., : sound.shape[-1]]


# -- drums -------------------------------------------------------------------------------------------------------------


def kick(rng: np.random.Generator, rate_hz: int) -> Array:
    """A sine falling from 190 to 48 Hz, with the beater's click."""
    t = time_s(rate_hz, 0.42)
    phase = 2 * np.pi * (48 * t + 142 * 0.03 * (1 - np.exp(-t / 0.03)))
    click = 0.12 * shaped_noise(rng, rate_hz, 0.42, 1_500, 6_000) * np.exp(-t / 0.004)
    return faded(without_lows(np.sin(phase) * np.exp(-t / 0.13) + click, rate_hz, 25), rate_hz)


def snare(rng: np.random.Generator, rate_hz: int) -> Array:
    """Two shell tones under wires of noise."""
    t = time_s(rate_hz, 0.35)
    shell = 0.5 * np.sin(2 * np.pi * 187 * t) + 0.3 * np.sin(2 * np.pi * 331 * t)
    wires = 0.24 * shaped_noise(rng, rate_hz, 0.35, 1_800, 11_000)
    return faded(shell * np.exp(-t / 0.06) + wires * np.exp(-t / 0.085), rate_hz, in_s=0.0005)


def hat(rng: np.random.Generator, rate_hz: int, decay_s: float = 0.03) -> Array:
    """Closed or open hi-hat: bright noise; like struck metal it goes on far above hearing."""
    seconds = 0.03 + 6 * decay_s
    t = time_s(rate_hz, seconds)
    return faded(0.25 * shaped_noise(rng, rate_hz, seconds, 7_500, 17_000) * np.exp(-t / decay_s), rate_hz, 0.0003)


def open_hat(rng: np.random.Generator, rate_hz: int) -> Array:
    return hat(rng, rate_hz, decay_s=0.11)


def crash(rng: np.random.Generator, rate_hz: int) -> Array:
    """Two independent sides, (2, frames), ringing for two seconds."""
    t = time_s(rate_hz, 2.2)
    sides = [shaped_noise(rng, rate_hz, 2.2, 3_500, 15_000) for _ in range(2)]
    return faded(0.22 * np.stack(sides) * np.exp(-t / 0.5), rate_hz)


# -- pitched -----------------------------------------------------------------------------------------------------------


def table(harmonics: int, softness: float) -> Array:
    """One cycle of a saw whose *k*-th harmonic is 1/k, bent down by exp(-k / softness); peak 1.0, (TABLE,)."""
    k = np.arange(1, max(harmonics, 1) + 1)
    spectrum = np.zeros(TABLE // 2 + 1, dtype=np.complex128)
    spectrum[k] = -1j * np.exp(-k / softness) / k
    cycle = np.fft.irfft(spectrum)
    full: Array = cycle / np.abs(cycle).max()
    return full


def wave(frequency_hz: float | Array, frames: int, rate_hz: int, softness: float, start: float = 0.0) -> Array:
    """A bent saw at a steady or moving frequency, with every harmonic that fits below 0.45 of the rate, (frames,).

    *start* is the phase it begins at, in cycles.
    """
    highest_hz = float(np.max(frequency_hz))
    cycle = table(min(int(0.45 * rate_hz / highest_hz), TABLE // 4), softness)
    if isinstance(frequency_hz, float):
        cycles = start + np.arange(frames) * (frequency_hz / rate_hz)
    else:
        cycles = start + np.cumsum(frequency_hz) / rate_hz
    at = cycles * TABLE
    whole = at.astype(np.int64)
    part = at - whole
    whole &= TABLE - 1
    here: Array = cycle[whole]
    between: Array = here + part * (np.append(cycle, cycle[0])[whole + 1] - here)
    return between


def bass(midi: int, seconds: float, rate_hz: int) -> Array:
    """A plucked string that dulls as it rings, over its own sine."""
    t = time_s(rate_hz, seconds)
    f = pitch_hz(midi)
    bright = wave(f, len(t), rate_hz, softness=16.0) * np.exp(-t / 0.12)
    dull = wave(f, len(t), rate_hz, softness=2.5)
    return faded((0.35 * bright + 0.65 * dull) * np.exp(-t / 0.9), rate_hz, in_s=0.004, out_s=0.03)


def keys(midi: int, seconds: float, rate_hz: int) -> Array:
    """A tine piano: a sine whose phase is shaken by another, less and less."""
    t = time_s(rate_hz, seconds)
    turn = 2 * np.pi * pitch_hz(midi) * t
    body = np.sin(turn + 1.1 * np.exp(-t / 0.35) * np.sin(turn) + 0.25 * np.exp(-t / 0.05) * np.sin(14 * turn))
    return faded(body * np.exp(-t / 0.55), rate_hz, in_s=0.003, out_s=0.1)


def pad(chord: tuple[int, ...], seconds: float, rate_hz: int) -> Array:
    """A chord of slightly detuned voices, opening and closing slowly, wide above the lows; (2, frames)."""
    frames = round(seconds * rate_hz)
    sides = np.zeros((2, frames))
    for voice, midi in enumerate(chord):
        for side, cents in ((0, -5.0), (1, 6.0)):
            sides[side] += wave(pitch_hz(midi + cents / 100), frames, rate_hz, softness=9.0, start=0.37 * voice)
    middle, apart = sides.mean(axis=0), without_lows((sides[0] - sides[1]) / 2, rate_hz, 350)
    return faded(np.stack([middle + apart, middle - apart]) / len(chord), rate_hz, in_s=0.25, out_s=0.5)


def lead(midi: int, seconds: float, rate_hz: int) -> Array:
    """A bowed-glass voice: late vibrato, a soft reed's partials, a slow start."""
    t = time_s(rate_hz, seconds)
    vibrato = 1 + 0.006 * np.clip((t - 0.15) / 0.25, 0, 1) * np.sin(2 * np.pi * 5.3 * t)
    voice = wave(pitch_hz(midi) * vibrato, len(t), rate_hz, softness=8.0)
    return faded(voice * (0.75 + 0.25 * np.exp(-t / 0.2)), rate_hz, in_s=0.025, out_s=0.09)
