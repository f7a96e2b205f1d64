"""Clean material by code: music-like sounds that are known to trouble detectors, seeded."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator

import numpy as np

from tests.benchmarks.planted.trial import Array, Material

RATE_HZ, SECONDS = 44_100, 24.0
A_440 = 440.0

Player = Callable[[np.random.Generator, int, int], Array]
"""Chance, rate in Hz, frames; gives (frames, 2) at any level."""


def synthetic(seeds: range, kinds: Collection[str] = (), seconds: float = SECONDS) -> Iterator[Material]:
    """Every kind (of *kinds*, if any) once for each seed."""
    for seed in seeds:
        for kind, (player, peak_dbfs) in KINDS.items():
            if kinds and kind not in kinds:
                continue
            rng = np.random.default_rng([seed, sum(kind.encode())])
            sound = player(rng, RATE_HZ, round(seconds * RATE_HZ))
            yield Material(kind, f"seed {seed}", RATE_HZ, _finished(sound, peak_dbfs), seed)


def _finished(sound: Array, peak_dbfs: float) -> Array:
    """To that peak, rounded to 24 bits."""
    level = 10 ** (peak_dbfs / 20) / max(float(np.abs(sound).max()), 1e-9)
    rounded: Array = np.rint(sound * level * 2**23).clip(-(2**23), 2**23 - 1) / 2**23
    return rounded


def _note_hz(rng: np.random.Generator, low: int, high: int) -> float:
    """A note of the minor pentatonic scale, MIDI numbers *low* to *high*."""
    scale = [number for number in range(low, high + 1) if number % 12 in (0, 3, 5, 7, 10)]
    return float(A_440 * 2 ** ((rng.choice(scale) - 69) / 12))


def _put(sound: Array, what: Array, at: int, pan: float, level: float = 1.0) -> None:
    end = min(at + len(what), len(sound))
    if at < end:
        angle = (pan + 1) * np.pi / 4
        sound[at:end] += level * what[: end - at, None] * np.array([np.cos(angle), np.sin(angle)])


def _steps(rng: np.random.Generator, rate_hz: int, frames: int) -> Iterator[int]:
    """Sixteenths at some tempo, in frames."""
    step = 60 / rng.uniform(80, 150) / 4 * rate_hz
    yield from (round(k * step) for k in range(int(frames / step)))


def _coloured(rng: np.random.Generator, frames: int, slope: float, rate_hz: int, low_hz: float = 20.0) -> Array:
    """Noise whose power falls with frequency to the *slope*: 1 is pink."""
    spectrum = np.fft.rfft(rng.standard_normal(frames))
    spectrum *= np.maximum(np.fft.rfftfreq(frames, 1 / rate_hz), low_hz) ** (-slope / 2)
    made: Array = np.fft.irfft(spectrum, frames)
    return made / made.std()


def _filtered(sound: Array, rate_hz: int, high_hz: float) -> Array:
    """Without what is above *high_hz* (a smooth edge of an octave); along the first axis."""
    spectrum = np.fft.rfft(sound, axis=0)
    hz = np.fft.rfftfreq(len(sound), 1 / rate_hz)
    gain = 1 / (1 + (hz / high_hz) ** 8)
    made: Array = np.fft.irfft(spectrum * (gain if sound.ndim == 1 else gain[:, None]), len(sound), axis=0)
    return made


def _released(made: Array, rate_hz: int) -> Array:
    """The last 50 ms faded out: a note that ends in a jump would be a fault in clean material."""
    fade = round(0.05 * rate_hz)
    return made * np.minimum(1, np.arange(len(made))[::-1] / fade)


def pluck(rng: np.random.Generator, rate_hz: int, hz: float, seconds: float) -> Array:
    """A string: partials that decay the faster the higher, begun by a millisecond of noise."""
    t = np.arange(round(seconds * rate_hz)) / rate_hz
    count = max(1, min(24, int(0.45 * rate_hz / hz)))
    position = rng.uniform(0.08, 0.3)
    made = np.zeros(len(t))
    for n in range(1, count + 1):
        stretched = n * hz * np.sqrt(1 + 2e-4 * n * n)
        made += np.sin(np.pi * n * position) / n * np.exp(-t * (0.8 + 0.25 * n)) * np.sin(2 * np.pi * stretched * t)
    attack = np.minimum(1, t / rng.uniform(0.0004, 0.002))
    return _released(made, rate_hz) * attack + 0.1 * rng.standard_normal(len(t)) * np.exp(-t / 0.002)


def plucked(rng: np.random.Generator, rate_hz: int, frames: int) -> Array:
    sound = np.zeros((frames, 2))
    for at in _steps(rng, rate_hz, frames):
        if rng.random() < 0.6:
            hz = _note_hz(rng, 40, 76)
            _put(sound, pluck(rng, rate_hz, hz, 2.0), at, rng.uniform(-0.7, 0.7), rng.uniform(0.3, 1))
    return sound


def hit(rng: np.random.Generator, rate_hz: int, kind: str) -> Array:
    """One stroke on a drum; half of them begin at once, as samples from a machine do."""
    t = np.arange(round(0.5 * rate_hz)) / rate_hz
    noise = rng.standard_normal(len(t))
    if kind == "kick":
        phase = 2 * np.pi * np.cumsum(50 + 150 * np.exp(-t / 0.02)) / rate_hz
        made = np.cos(phase) * np.exp(-t / 0.12) + 0.15 * noise * np.exp(-t / 0.004)
    elif kind == "snare":
        made = 0.6 * noise * np.exp(-t / 0.07) + 0.5 * np.sin(2 * np.pi * 190 * t) * np.exp(-t / 0.05)
    elif kind == "rim":
        made = np.sin(2 * np.pi * 1700 * t) * np.exp(-t / 0.006) + 0.3 * noise * np.exp(-t / 0.002)
    else:
        made = np.diff(noise, prepend=0.0) * np.exp(-t / (0.25 if kind == "open hat" else 0.03))
    return _released(made, rate_hz) * (1 if rng.random() < 0.5 else np.minimum(1, t / 0.001))


def drums(rng: np.random.Generator, rate_hz: int, frames: int) -> Array:
    sound = np.zeros((frames, 2))
    kit = {kind: hit(rng, rate_hz, kind) for kind in ("kick", "snare", "rim", "hat", "open hat")}
    for step, at in enumerate(_steps(rng, rate_hz, frames)):
        wanted = ["kick"] * (step % 8 in (0, 5)) + ["snare"] * (step % 8 == 4) + ["rim"] * (rng.random() < 0.06)
        for kind in [*wanted, "open hat" if step % 16 == 14 else "hat"]:
            _put(sound, kit[kind], at + int(rng.integers(0, 60)), 0.2, rng.uniform(0.4, 1))
    room = np.convolve(sound.sum(axis=1), rng.standard_normal(400) * np.exp(-np.arange(400) / 120), "same")
    return sound + 0.05 * room[:, None] + 1e-4 * rng.standard_normal(sound.shape)


def hats(rng: np.random.Generator, rate_hz: int, frames: int) -> Array:
    sound = 0.003 * _coloured(rng, frames, 1, rate_hz)[:, None] * np.ones(2)
    for at in _steps(rng, rate_hz, frames):
        _put(sound, hit(rng, rate_hz, "open hat" if rng.random() < 0.15 else "hat"), at, 0.1, rng.uniform(0.2, 1))
    return sound


def pads(rng: np.random.Generator, rate_hz: int, frames: int) -> Array:
    t = np.arange(frames) / rate_hz
    sound = np.zeros((frames, 2))
    for _ in range(7):
        hz, swell = (
            _note_hz(rng, 43, 79),
            0.55 + 0.45 * np.sin(2 * np.pi * rng.uniform(0.05, 0.3) * t + rng.uniform(0, 6)),
        )
        for n in range(1, 9):
            wobble = 0.6 * np.sin(2 * np.pi * rng.uniform(3, 6) * t)
            voice = np.sin(2 * np.pi * n * hz * t + wobble + rng.uniform(0, 6)) * swell / n**1.5
            _put(sound, voice, 0, rng.uniform(-0.8, 0.8))
    return sound + 1e-4 * rng.standard_normal(sound.shape)


def bass_50(rng: np.random.Generator, rate_hz: int, frames: int) -> Array:
    """Bass notes of exactly 50 and 60 Hz and their partials, hats above, rests between."""
    sound = 2e-4 * _coloured(rng, frames, 1, rate_hz)[:, None] * np.ones(2)
    for at in _steps(rng, rate_hz, frames):
        if rng.random() < 0.45:
            t = np.arange(round(rng.uniform(0.15, 1.2) * rate_hz)) / rate_hz
            hz = float(rng.choice([50.0, 50.0, 60.0, 100.0]))
            tone = np.tanh(rng.uniform(0.5, 3) * np.sin(2 * np.pi * hz * t)) * np.exp(-t / rng.uniform(0.3, 2))
            _put(sound, tone * np.minimum(1, np.minimum(t, t[::-1]) / 0.004), at, 0.0)
        if rng.random() < 0.5:
            _put(sound, hit(rng, rate_hz, "hat"), at, 0.3, 0.1)
    return sound


def voice(rng: np.random.Generator, rate_hz: int, frames: int) -> Array:
    """Sung and spoken sounds: glottal pulses through formants, plosives, sibilants, breath."""
    made = np.zeros(frames)
    at = 0
    while at < frames - rate_hz:
        length = round(rng.uniform(0.15, 0.7) * rate_hz)
        hz = rng.uniform(90, 260) * (1 + 0.02 * np.sin(2 * np.pi * 5 * np.arange(length) / rate_hz))
        phase = np.cumsum(hz) / rate_hz
        pulses = np.diff(np.floor(phase), prepend=0.0) + 0.01 * rng.standard_normal(length)
        spectrum = np.fft.rfft(pulses)
        f = np.fft.rfftfreq(length, 1 / rate_hz)
        formants = [
            (rng.uniform(*span), width) for span, width in (((300, 800), 80), ((900, 2200), 120), ((2500, 3200), 200))
        ]
        shape = sum(1 / (1 + ((f - hz0) / width) ** 2) for hz0, width in formants) / (1 + (f / 3000) ** 2)
        vowel = np.fft.irfft(spectrum * shape, length)
        edge = np.minimum(1, np.minimum(np.arange(length), np.arange(length)[::-1]) / (0.02 * rate_hz))
        made[at : at + length] += vowel / np.abs(vowel).max() * edge
        if rng.random() < 0.5:  # a plosive before it: silence, then a burst
            burst = rng.standard_normal(round(0.02 * rate_hz))
            burst *= np.exp(-np.arange(len(burst)) / (0.004 * rate_hz))
            made[at : at + len(burst)] += rng.uniform(0.1, 0.7) * burst
        if rng.random() < 0.3:
            hiss = np.diff(rng.standard_normal(round(0.12 * rate_hz) + 1)) * np.hanning(round(0.12 * rate_hz))
            made[at + length - len(hiss) : at + length] += 0.15 * hiss
        at += length + round(rng.uniform(0.03, 0.3) * rate_hz)
    return np.stack([made, made], axis=1) + 3e-4 * rng.standard_normal((frames, 2))


def distorted(rng: np.random.Generator, rate_hz: int, frames: int) -> Array:
    chords = plucked(rng, rate_hz, frames) + 0.7 * plucked(rng, rate_hz, frames)
    driven = np.tanh(rng.uniform(8, 40) * chords / np.abs(chords).max())
    return _filtered(driven, rate_hz, rng.uniform(5000, 9000)) + 0.3 * drums(rng, rate_hz, frames)


def waves(rng: np.random.Generator, rate_hz: int, frames: int) -> Array:
    """Sawtooth and square waves by formula, with all their jumps, low ones too."""
    sound = np.zeros((frames, 2))
    for at in _steps(rng, rate_hz, frames):
        if rng.random() < 0.5:
            t = np.arange(round(rng.uniform(0.1, 1.0) * rate_hz)) / rate_hz
            phase = _note_hz(rng, 24, 72) * t % 1.0
            wave = 2 * phase - 1 if rng.random() < 0.5 else np.where(phase < rng.choice([0.5, 0.25]), 1.0, -1.0)
            _put(sound, wave * np.minimum(1, np.minimum(t, t[::-1]) / 0.003), at, rng.uniform(-0.6, 0.6), 0.5)
    return sound


def chip(rng: np.random.Generator, rate_hz: int, frames: int) -> Array:
    """8-bit style: pulse waves that are switched on and off, noise by shift register, exact zeros between."""
    sound = np.zeros((frames, 2))
    for at in _steps(rng, rate_hz, frames):
        length = round(rng.choice([0.05, 0.1, 0.2]) * rate_hz)
        if rng.random() < 0.7:
            phase = _note_hz(rng, 36, 84) * np.arange(length) / rate_hz % 1.0
            _put(
                sound,
                np.where(phase < rng.choice([0.125, 0.25, 0.5]), 1.0, 0.0),
                at,
                0.0,
                rng.choice([4, 8, 12, 15]) / 15,
            )
        if rng.random() < 0.3:
            held = np.repeat(rng.choice([0.0, 1.0], length // 6 + 1), 6)[:length]
            _put(sound, held, at, 0.0, rng.choice([4, 8]) / 15)
    return np.round(sound * 64) / 64


def glitchy(rng: np.random.Generator, rate_hz: int, frames: int) -> Array:
    """Cut up on purpose: stutters, dropped pieces, clicks as percussion."""
    sound = drums(rng, rate_hz, frames) + pads(rng, rate_hz, frames) * 0.3
    for _ in range(int(frames / rate_hz * 6)):
        at, length = int(rng.integers(0, frames - rate_hz)), round(rng.uniform(0.003, 0.08) * rate_hz)
        choice = rng.random()
        if choice < 0.35:
            sound[at : at + length] = 0
        elif choice < 0.7:
            sound[at : at + 4 * length] = np.tile(sound[at : at + length], (4, 1))
        else:
            sound[at, :] += rng.choice([-0.6, 0.6])
    return sound


def clipped(rng: np.random.Generator, rate_hz: int, frames: int) -> Array:
    """A loud master: everything, pushed 9 dB into a hard ceiling."""
    mix = drums(rng, rate_hz, frames) + 0.5 * plucked(rng, rate_hz, frames) + 0.3 * pads(rng, rate_hz, frames)
    return np.clip(mix / np.abs(mix).max() * 10 ** (9 / 20), -1, 1)


def breaks(rng: np.random.Generator, rate_hz: int, frames: int) -> Array:
    """A groove that stops dead into digital silence and starts again, edited with fades of a few samples."""
    sound = drums(rng, rate_hz, frames) + 0.5 * plucked(rng, rate_hz, frames)
    steps = list(_steps(rng, rate_hz, frames))
    for at in rng.choice(steps, len(steps) // 12, replace=False):
        length = round(rng.choice([0.06, 0.12, 0.25, 0.5]) * rate_hz)
        fade = min(round(rng.uniform(0.001, 0.005) * rate_hz), length // 2)
        piece = sound[at : at + length]
        ramp = np.minimum(np.arange(len(piece)), np.arange(len(piece))[::-1])
        piece *= np.clip(1 - ramp / fade, 0, 1)[:, None]
    return sound


def noise(rng: np.random.Generator, rate_hz: int, frames: int) -> Array:
    slope = rng.uniform(0, 2)
    swell = 0.5 + 0.4 * np.sin(2 * np.pi * 0.2 * np.arange(frames) / rate_hz)
    return np.stack([_coloured(rng, frames, slope, rate_hz) for _ in range(2)], axis=1) * swell[:, None]


def quiet(rng: np.random.Generator, rate_hz: int, frames: int) -> Array:
    """Soft plucked notes far apart, over the noise of a room."""
    sound = 0.002 * np.stack([_coloured(rng, frames, 1.5, rate_hz) for _ in range(2)], axis=1)
    for at in range(0, frames, 3 * rate_hz):
        _put(sound, pluck(rng, rate_hz, _note_hz(rng, 45, 69), 3.0), at, 0.0)
    return sound


KINDS: dict[str, tuple[Player, float]] = {
    "plucked": (plucked, -1.0),
    "drums": (drums, -1.0),
    "hi-hats": (hats, -6.0),
    "pads": (pads, -6.0),
    "bass at 50 and 60 Hz": (bass_50, -3.0),
    "voice, plosives": (voice, -3.0),
    "distorted": (distorted, -1.0),
    "saw and square waves": (waves, -3.0),
    "8-bit style": (chip, -3.0),
    "glitchy on purpose": (glitchy, -1.0),
    "hard-clipped master": (clipped, -0.3),
    "breaks into silence": (breaks, -1.0),
    "noise": (noise, -6.0),
    "quiet, a room": (quiet, -12.0),
}
"""Kind: its player and the peak level it is brought to, in dBFS."""
