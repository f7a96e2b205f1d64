"""Traces of a lossy coder: zeros in its own transform, searched at every possible frame position.

A coder of MP3, AAC or Vorbis cuts sound into frames of fixed length, transforms them (MDCT), and quantises the
coefficients; most of the high ones become zero. Transforming the decoded audio again with the same frame positions
shows these zeros; one sample off there are none. Method: J. Herre and M. Schug, "Analysis of Decompressed Audio - The
Inverse Decoder", AES 109th Convention (2000); the computation here is our own.

"Zero" is a property of the angle, not of the magnitude: a coefficient is the real part of a complex one, and is nearly
zero if that points along the other axis. In audio that was never coded every angle is equally likely, for any content
and level: NEARLY * 2 / pi of them pass.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.history._loops import hybrid_zeros, mdct_zeros
from delivery.dsp.history._loops import steady_treble as steady_treble
from delivery.dsp.history.layout import FRAME, GROUP, LINES, NEARLY, SOUNDS, TERMS

Array = NDArray[np.float64]
Counts = NDArray[np.float32]

BY_CHANCE = float(2 / np.pi * np.arcsin(NEARLY))

WINDOWS = ("sine", "kbd", "vorbis")
BINS = (230, 340, 460)
"""First coefficients of the groups, of FRAME; 5, 7.3 and 9.9 kHz at 44.1 kHz."""

GRANULE = 576
"""Coefficients, and samples between granules, of MP3."""
SUBBANDS = (8, 10, 12, 14, 16, 18)
"""Of 32; even ones, whose coefficients are not frequency-inverted."""
PROTOTYPE = (0.1091679, 0.2183426, 0.2175227, 0.2050951, 0.1543966, 0.0748792, 0.0189027, 0.0016878)
"""Cosine terms of the 512 points of ISO/IEC 11172-3's filter, fitted to decoders' response to one pulse: -97 dB."""
TAPS = 512


def window(kind: str) -> Array:
    """(2 * FRAME,) long windows: sine and Kaiser-Bessel-derived (alpha 4) of ISO/IEC 14496-3, and Vorbis I's."""
    n = np.arange(2 * FRAME) + 0.5
    sine = np.sin(np.pi * n / (2 * FRAME))
    if kind == "sine":
        return np.asarray(sine)
    if kind == "vorbis":
        return np.asarray(np.sin(np.pi / 2 * sine**2))
    kaiser = np.kaiser(FRAME + 1, 4 * np.pi)
    rising = np.sqrt(np.cumsum(kaiser)[:FRAME] / kaiser.sum())
    return np.concatenate([rising, rising[::-1]])


@cache
def window_terms() -> Array:
    """(windows, TERMS - 1) of the series sin((2m + 1) * pi * (n + 1/2) / (2 * FRAME)): the second and third over the
    first, exactly 0 for a sine; the rest is below -37 dB.
    """
    n = np.arange(2 * FRAME) + 0.5
    waves = np.stack([np.sin((2 * m + 1) * np.pi * n / (2 * FRAME)) for m in range(TERMS)])
    terms = np.stack([waves @ window(kind) for kind in WINDOWS])
    return np.round(terms[:, 1:] / terms[:, :1], 12)


@cache
def subband_filters(frames: int) -> NDArray[np.complex128]:
    """(subbands, frames // 2 + 1) transforms of MP3's analysis filters, to be multiplied with that of the sound."""
    n = np.arange(TAPS)
    low_pass = sum(a * np.cos(2 * np.pi * k * (n - TAPS // 2) / TAPS) for k, a in enumerate(PROTOTYPE))
    taps = np.stack([low_pass * np.cos((2 * band + 1) * (n - 16) * np.pi / 64) for band in SUBBANDS])
    return np.conj(np.fft.rfft(taps[:, ::-1], frames, axis=1))


EXCERPT = 6144
"""Samples of one excerpt: four frames at each of FRAME positions, seven granules at each of GRANULE."""
FRAMES, GRANULES = 4, 7
CODERS = ("AAC", "AAC", "Vorbis", "MP3")
"""In the order of ``CodecTraces.counts``: by window, and the hybrid."""
TRIALS = (*(FRAMES * GROUP * len(BINS) for _ in WINDOWS), GRANULES * (LINES[1] - LINES[0]) * len(SUBBANDS))
"""Coefficients examined for each position in one excerpt."""
SAME_GRID = 64
"""Vorbis orders its block lengths freely, but always on multiples of this."""
NEIGHBOURS = 2
PEAK_OVER_NEXT = 1.5
ABOUT_AS_WELL = 0.9
"""Windows of AAC and Vorbis are alike; when both fit, both are named."""
SHORTEST_LOOP = 16
ALIKE, FRAMES_ALIKE = 0.9, 0.7
"""Correlation with itself later, at any time or a few frames on, above which audio counts as repeating."""
MOST_IN_A_FRAME = 10
"""About one is expected by chance."""


class Excerpt(NamedTuple):
    """Part of one channel, or of the sum of two."""

    at: int
    """Its first frame in the file."""
    samples: Array


@dataclass
class CodecTraces:
    """Nearly-zero coefficients of all excerpts together, by the position of the frames in the file."""

    counts: tuple[Array, ...] = field(default_factory=lambda: (*(np.zeros(FRAME) for _ in WINDOWS), np.zeros(GRANULE)))
    """One row for each of CODERS, over the positions of one frame."""
    excerpts: Array = field(default_factory=lambda: np.zeros(len(CODERS)))
    """Number examined for each coder."""
    treble: float = 0.0
    """Of the excerpt with the most: its power as the variance of a white noise."""

    def add(self, excerpts: Sequence[Excerpt]) -> None:
        """Examine excerpts of EXCERPT samples.

        Audio that repeats itself is skipped, because its angles repeat too. And no frame counts for more than a few
        zeros, since a single click in it turns all angles at once.
        """
        samples = np.stack([excerpt.samples for excerpt in excerpts])
        self.treble = max(self.treble, *treble(samples).tolist())
        alike = likeness(samples)
        once = [number for number, own in enumerate(alike) if not repeats(own, FRAME, FRAMES)]
        for number, rows in zip(once, frame_zeros(samples[once], FRAMES), strict=True):
            for coder, row in enumerate(rows):
                self._count(coder, row, excerpts[number].at)
        for excerpt, own in zip(excerpts, alike, strict=True):
            if not repeats(own, GRANULE, GRANULES):
                self._count(len(WINDOWS), granule_zeros(excerpt.samples), excerpt.at)

    def _count(self, coder: int, found: Array, at: int) -> None:
        add_from(self.counts[coder], found, at)
        self.excerpts[coder] += 1

    def best(self) -> tuple[str, float]:
        """The coder or coders whose frames fit best, and the probability of that by chance, in powers of ten.

        The probability is that of a binomial count (Chernoff's bound), times the number of positions tried. It is
        nominal: coefficients are assumed independent, which those of one sustained tone are not. Such a tone fits at
        many positions, so a fit that is not far better than at all other positions counts as none.
        """
        tried = [float(trials * count) for trials, count in zip(TRIALS, self.excerpts, strict=True)]
        return best_fit(CODERS, self.counts, tried, sum(len(row) for row in self.counts))


def best_fit(
    coders: Sequence[str], counts: Sequence[Array], tried: Sequence[float], positions: int
) -> tuple[str, float]:
    """As `CodecTraces.best`: *counts* for each of *coders*, coefficients *tried* for each, and *positions* in all."""
    fits = [_fit(found, many, positions) if many else 0.0 for found, many in zip(counts, tried, strict=True)]
    decades = max(fits)
    names = {name for name, fit in zip(coders, fits, strict=True) if fit >= ABOUT_AS_WELL * decades}
    return " or ".join(sorted(names)), decades


def _fit(counts: Array, tried: float, positions: int) -> float:
    peak = int(np.argmax(counts))
    apart = (np.arange(len(counts)) - peak + NEIGHBOURS) % SAME_GRID
    by_chance = BY_CHANCE * tried
    if counts[peak] - by_chance < PEAK_OVER_NEXT * (counts[apart > 2 * NEIGHBOURS].max() - by_chance):
        return 0.0
    share = min(max(counts[peak] / tried, BY_CHANCE), 1 - 1e-12)
    nats = tried * (share * np.log(share / BY_CHANCE) + (1 - share) * np.log((1 - share) / (1 - BY_CHANCE)))
    return float((nats - np.log(positions)) / np.log(10))


def frame_zeros(sounds: Array, frames: int) -> Array:
    """(sounds, windows, FRAME) nearly-zero coefficients in (sounds, (frames + 2) * FRAME), by the position of a frame.

    SOUNDS of them take as long as one.
    """
    found = [_frame_zeros(sounds[at : at + SOUNDS], frames) for at in range(0, len(sounds), SOUNDS)]
    return np.concatenate([np.empty((0, len(WINDOWS), FRAME)), *found])


def _frame_zeros(sounds: Array, frames: int) -> Array:
    terms = window_terms()
    beside = np.zeros((sounds.shape[1], SOUNDS))
    beside[:, : len(sounds)] = sounds.T
    found = np.zeros((len(terms), frames * FRAME * SOUNDS), np.float32)
    lines, half_turns = _first_lines()
    sums = np.conj(np.fft.rfft(beside[: 2 * FRAME], axis=0)[lines]) * half_turns[..., None]
    for first, own in zip(BINS, np.stack([sums.real, sums.imag], axis=1), strict=True):
        mdct_zeros(beside, own, first, turns(first), terms, found)
    each = np.moveaxis(found.reshape(len(terms), frames * FRAME, SOUNDS), 2, 0)
    return by_position(each[: len(sounds)], FRAME)


def granule_zeros(x: Array) -> Array:
    """(GRANULE,) nearly-zero coefficients of MP3 in (EXCERPT,) samples, by the position of a granule."""
    found = np.zeros(GRANULES * GRANULE, np.float32)
    for subband in np.fft.irfft(np.fft.rfft(x) * subband_filters(EXCERPT), EXCERPT, axis=1)[:, : EXCERPT - TAPS]:
        hybrid_zeros(subband, found)
    return by_position(found, GRANULE)


@cache
def _first_lines() -> tuple[NDArray[np.int64], NDArray[np.complex128]]:
    """(groups, lines) of the Fourier sums from which each group of coefficients starts, and their half turns."""
    lines = np.stack([first - TERMS + 1 + np.arange(turns(first).shape[1]) for first in BINS])
    return lines, np.stack([turns(first)[2] + 1j * turns(first)[3] for first in BINS])


@cache
def turns(first: int) -> Array:
    """(4, lines) by which the Fourier sums of a group of coefficients turn with each sample: cosines and sines of whole
    turns back; sums and differences of those of half turns forward, since all sums are kept as re + im and im - re.
    """
    angles = np.pi * (first - TERMS + 1 + np.arange(GROUP + 2 * TERMS - 1)) / FRAME
    half_re, half_im = np.cos(angles / 2), np.sin(angles / 2)
    return np.stack([np.cos(angles), -np.sin(angles), half_re + half_im, half_im - half_re])


def by_position(found: Counts, frame: int) -> Array:
    """(..., frame) sums over the frames of *found*, (..., places), none of which counts for more than a few."""
    frames = np.minimum(found.reshape(*found.shape[:-1], -1, frame), MOST_IN_A_FRAME)
    return np.asarray(frames.sum(axis=-2), np.float64)


def add_from(total: Array, found: Array, at: int) -> None:
    """Add *found*, by the position of a frame from sample *at* on, to *total*, by the position in the file."""
    ahead = at % total.shape[-1]
    behind = total.shape[-1] - ahead
    total[..., ahead:] += found[..., :behind]
    total[..., :ahead] += found[..., behind:]


def repeats(alike: Array, frame: int, frames: int, most: float = ALIKE) -> bool:
    """Whether autocorrelation *alike* is that of audio that repeats itself: over *most*, or in step with frames."""
    steady = bool((alike[SHORTEST_LOOP : FRAMES * FRAME] > most).any())
    return steady or bool(alike[frame : frames * frame : frame].max() >= FRAMES_ALIKE)


def treble(x: Array) -> Array:
    """Power of (..., samples) in the band of the coefficients, as the variance of a white noise as strong there."""
    fade = _fade(x.shape[-1])
    power = np.abs(np.fft.rfft(x * fade)) ** 2
    low, high = (band * power.shape[-1] // 32 for band in (SUBBANDS[0], SUBBANDS[-1] + 1))
    return np.asarray(power[..., low:high].mean(axis=-1) / (fade @ fade))


@cache
def _fade(frames: int) -> Array:
    return np.hanning(frames)


def likeness(x: Array) -> Array:
    """Autocorrelation of the treble of (..., samples) at lags 0, 1, 2 ... samples, from 1 to -1."""
    bends = np.diff(x, 2)
    count = bends.shape[-1]
    powers = np.abs(np.fft.rfft(bends, 2 * x.shape[-1])) ** 2
    lagged = np.fft.irfft(powers)[..., :count]
    return np.asarray(lagged / np.maximum(lagged[..., :1], 1e-300) * count / np.arange(count, 0, -1))
