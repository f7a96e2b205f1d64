"""Zeros that a lossy coder left in its own transform, sought at every place where its frames could begin.

A coder of MP3, AAC or Vorbis cuts sound into frames of fixed length, transforms them (MDCT), and rounds what it finds;
most of the high coefficients become zero. Whoever transforms the decoded sound again, with frames that begin where the
coder's began, finds those zeros; one sample beside it there are none. Method: J. Herre and M. Schug, "Analysis of
Decompressed Audio - The Inverse Decoder", AES 109th Convention (2000); how it is computed here is our own.

"Zero" is asked of the angle, not of the size: a coefficient is the real part of a complex one, and is nearly zero when
that points along the other axis. In sound that no frame has seen every angle is as likely as any other, whatever the
sound is and however loud: NEARLY * 2 / pi of them pass.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.compiled import ANY_ORDER, compiled

Array = NDArray[np.float64]
Counts = NDArray[np.float32]

NEARLY = 0.05
"""Largest real part of what counts as zero, against the whole."""
BY_CHANCE = float(2 / np.pi * np.arcsin(NEARLY))

FRAME = 1024
"""Coefficients, and samples between frames, of AAC and of Vorbis' long blocks."""
WINDOWS = ("sine", "kbd", "vorbis")
TERMS = 3
BINS = (230, 340, 460)
"""Where the groups of coefficients begin, of FRAME; 5, 7.3 and 9.9 kHz at 44.1 kHz."""
GROUP = 12
TILE = 64
"""Places looked at together, so that their numbers stay near the processor."""

GRANULE = 576
"""Coefficients, and samples between granules, of MP3."""
SUBBANDS = (8, 10, 12, 14, 16, 18)
"""Of 32; even ones, whose coefficients are not turned round."""
LINES = (5, 13)
"""Of 18 coefficients in a subband those that its neighbours do not reach into (alias reduction is below -28 dB)."""
PROTOTYPE = (0.1091679, 0.2183426, 0.2175227, 0.2050951, 0.1543966, 0.0748792, 0.0189027, 0.0016878)
"""Cosine terms of the 512 points of ISO/IEC 11172-3's filter, fitted to what decoders answer to one pulse: -97 dB."""
TAPS = 512
SPAN = 36
STRIDE = 32


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
    """(windows, TERMS) of the sine series sin((2m + 1) * pi * (n + 1/2) / (2 * FRAME)); the rest is below -37 dB."""
    n = np.arange(2 * FRAME) + 0.5
    waves = np.stack([np.sin((2 * m + 1) * np.pi * n / (2 * FRAME)) for m in range(TERMS)])
    return np.stack([waves @ window(kind) / FRAME for kind in WINDOWS])


@compiled(fast=ANY_ORDER)
def mdct_zeros(x: Array, first: int, terms: Array, counts: Counts) -> None:
    """Add, for every place a frame could begin, how many of GROUP coefficients from *first* on are nearly zero.

    A window that is a sum of few sine waves makes a coefficient a sum of few Fourier sums over a plain stretch, and
    those follow from one place to the next in one step.

    Parameters
    ----------
    x : (places + 2 * FRAME,)
    terms : (windows, TERMS) from :func:`window_terms`
    counts : (windows, places), added to; places are a multiple of TILE
    """
    lines = GROUP + 2 * TERMS - 1
    re, im, angles = np.zeros(lines), np.zeros(lines), np.pi * (first - TERMS + 1 + np.arange(lines)) / FRAME
    turn_re, turn_im, half_re, half_im = np.cos(angles), -np.sin(angles), np.cos(angles / 2), np.sin(angles / 2)
    wave_re, wave_im = half_re.copy(), half_im.copy()
    for n in range(2 * FRAME):
        for j in range(GROUP + 2 * TERMS - 1):
            re[j] += x[n] * wave_re[j]
            im[j] += x[n] * wave_im[j]
            next_re = wave_re[j] * turn_re[j] + wave_im[j] * turn_im[j]
            wave_im[j] = wave_im[j] * turn_re[j] - wave_re[j] * turn_im[j]
            wave_re[j] = next_re
    tile_re, tile_im = np.empty((lines, TILE), np.float32), np.empty((lines, TILE), np.float32)
    limit = np.float32(NEARLY * NEARLY)
    for start in range(0, counts.shape[1], TILE):
        for t in range(TILE):
            change = x[start + t + 2 * FRAME] - x[start + t]
            for j in range(GROUP + 2 * TERMS - 1):
                tile_re[j, t], tile_im[j, t] = re[j], im[j]
                new_re, new_im = re[j] + change * half_re[j], im[j] + change * half_im[j]
                re[j] = new_re * turn_re[j] - new_im * turn_im[j]
                im[j] = new_re * turn_im[j] + new_im * turn_re[j]
        for w in range(len(counts)):
            a, b, c = np.float32(terms[w, 0]), np.float32(terms[w, 1]), np.float32(terms[w, 2])
            row = counts[w, start : start + TILE]
            for k in range(GROUP):
                phase = np.pi * (2 * (first + k) + 1) / 4
                along_re, along_im = np.float32(np.sin(phase)), np.float32(np.cos(phase))
                r0, r1, r2, r3, r4, r5 = (
                    tile_re[k], tile_re[k + 1], tile_re[k + 2], tile_re[k + 3], tile_re[k + 4], tile_re[k + 5],
                )  # fmt: skip
                i0, i1, i2, i3, i4, i5 = (
                    tile_im[k], tile_im[k + 1], tile_im[k + 2], tile_im[k + 3], tile_im[k + 4], tile_im[k + 5],
                )  # fmt: skip
                for t in range(TILE):
                    z_re = a * (r3[t] - r2[t]) + b * (r4[t] - r1[t]) + c * (r5[t] - r0[t])
                    z_im = a * (i3[t] - i2[t]) + b * (i4[t] - i1[t]) + c * (i5[t] - i0[t])
                    real = along_re * z_re + along_im * z_im
                    near = real * real < limit * (z_re * z_re + z_im * z_im)
                    row[t] += np.float32(1.0) if near else np.float32(0.0)


@cache
def subband_filters(frames: int) -> NDArray[np.complex128]:
    """(subbands, frames // 2 + 1) transforms of MP3's analysis filters, to be multiplied with that of the sound."""
    n = np.arange(TAPS)
    low_pass = sum(a * np.cos(2 * np.pi * k * (n - TAPS // 2) / TAPS) for k, a in enumerate(PROTOTYPE))
    taps = np.stack([low_pass * np.cos((2 * band + 1) * (n - 16) * np.pi / 64) for band in SUBBANDS])
    return np.conj(np.fft.rfft(taps[:, ::-1], frames, axis=1))


@compiled(fast=ANY_ORDER)
def hybrid_zeros(subband: Array, counts: Counts) -> None:
    """The same for the middle LINES of one of MP3's subbands, given at every sample.

    Parameters
    ----------
    subband : (places + STRIDE * SPAN,) at least
    counts : (places,), added to; places are a multiple of STRIDE
    """
    first, end = LINES
    lines = end - first + 1
    re, im = np.zeros((lines, STRIDE)), np.zeros((lines, STRIDE))
    turn, half = np.empty((lines, 2)), np.empty((lines, 2))
    for j in range(lines):
        angle = 2 * np.pi * (first + j) / SPAN
        turn[j, 0], turn[j, 1] = np.cos(angle), -np.sin(angle)
        half[j, 0], half[j, 1] = np.cos(angle / 2), np.sin(angle / 2)
        for n in range(SPAN):
            wave_re, wave_im = np.cos(angle * (n + 0.5)), np.sin(angle * (n + 0.5))
            for p in range(STRIDE):
                re[j, p] += subband[STRIDE * n + p] * wave_re
                im[j, p] += subband[STRIDE * n + p] * wave_im
    limit = NEARLY * NEARLY
    change = np.empty(STRIDE)
    for start in range(0, len(counts), STRIDE):
        row = counts[start : start + STRIDE]
        for k in range(lines - 1):
            phase = np.pi * (2 * (first + k) + 1) / 4
            along_re, along_im = np.sin(phase), np.cos(phase)
            low_re, low_im, high_re, high_im = re[k], im[k], re[k + 1], im[k + 1]
            for p in range(STRIDE):
                z_re, z_im = high_re[p] - low_re[p], high_im[p] - low_im[p]
                real = along_re * z_re + along_im * z_im
                near = real * real < limit * (z_re * z_re + z_im * z_im)
                row[p] += np.float32(1.0) if near else np.float32(0.0)
        for p in range(STRIDE):
            change[p] = subband[start + STRIDE * SPAN + p] - subband[start + p]
        for j in range(lines):
            row_re, row_im = re[j], im[j]
            for p in range(STRIDE):
                new_re, new_im = row_re[p] + change[p] * half[j, 0], row_im[p] + change[p] * half[j, 1]
                row_re[p] = new_re * turn[j, 0] - new_im * turn[j, 1]
                row_im[p] = new_re * turn[j, 1] + new_im * turn[j, 0]


EXCERPT = 6144
"""Samples of one excerpt: four frames at each of FRAME places, seven granules at each of GRANULE."""
FRAMES, GRANULES = 4, 7
CODERS = ("AAC", "AAC", "Vorbis", "MP3")
"""In the order of ``CodecTraces.counts``: by window, and the hybrid."""
TRIALS = (*(FRAMES * GROUP * len(BINS) for _ in WINDOWS), GRANULES * (LINES[1] - LINES[0]) * len(SUBBANDS))
"""Coefficients looked at for each place in one excerpt."""
SAME_GRID = 64
"""Vorbis puts its blocks in any order of lengths, but always on multiples of this."""
NEIGHBOURS = 2
PEAK_OVER_NEXT = 1.5
ABOUT_AS_WELL = 0.9
"""Windows of AAC and Vorbis are alike; when both fit, both are named."""
PIECE = 1024
SHORTEST_LOOP = 16
ALIKE, FRAMES_ALIKE = 0.9, 0.7
"""So like itself later, at any time or just a few frames on, sound is taken to repeat."""
MOST_IN_A_FRAME = 10
"""About one is expected by chance."""


@dataclass
class CodecTraces:
    """Nearly-zero coefficients of all excerpts together, by the place in the file at which frames would begin."""

    counts: tuple[Array, ...] = field(default_factory=lambda: (*(np.zeros(FRAME) for _ in WINDOWS), np.zeros(GRANULE)))
    """One row for each of CODERS, over the places of one frame."""
    excerpts: Array = field(default_factory=lambda: np.zeros(len(CODERS)))
    """How many were looked at for each coder."""
    treble: float = 0.0
    """Of the excerpt that has most of it: its power as the variance of a white noise."""

    def add(self, x: Array, at: int, terms: Array, filters: NDArray[np.complex128]) -> None:
        """Look at (EXCERPT,) samples that begin at frame *at* of the file.

        Sound that repeats itself is passed over: its angles come again too. And no frame counts for more than a few
        zeros, for a single click in its midst turns all angles at once.
        """
        subbands = np.fft.irfft(np.fft.rfft(x) * filters, EXCERPT, axis=1)[:, : EXCERPT - TAPS]
        self.treble = max(self.treble, treble(x))
        alike = likeness(x)
        steady = bool((alike[SHORTEST_LOOP : FRAMES * FRAME] > ALIKE).any())
        if not steady and alike[FRAME : FRAMES * FRAME : FRAME].max() < FRAMES_ALIKE:
            plain = np.zeros((len(WINDOWS), FRAMES * FRAME), np.float32)
            for first in BINS:
                mdct_zeros(x, first, terms, plain)
            for number, row in enumerate(plain):
                self._count(number, row, at)
        if not steady and alike[GRANULE : GRANULES * GRANULE : GRANULE].max() < FRAMES_ALIKE:
            hybrid = np.zeros(GRANULES * GRANULE, np.float32)
            for subband in subbands:
                hybrid_zeros(subband, hybrid)
            self._count(len(WINDOWS), hybrid, at)

    def _count(self, coder: int, found: Counts, at: int) -> None:
        total = self.counts[coder]
        frames = np.minimum(found.reshape(-1, len(total)), MOST_IN_A_FRAME).sum(axis=0)
        total += np.roll(frames, at % len(total))
        self.excerpts[coder] += 1

    def best(self) -> tuple[str, float]:
        """The coder or coders whose frames fit best, and how unlikely that is by chance, in powers of ten.

        The chance is that of a binomial count (Chernoff's bound), times the number of places tried. It is nominal:
        coefficients are taken for independent, which those of one sustained tone are not. Such a tone fits at many
        places, so a fit that is not far better than at all other places counts as none.
        """
        tried = [float(trials * count) for trials, count in zip(TRIALS, self.excerpts, strict=True)]
        fits = [self._fit(counts, many) if many else 0.0 for counts, many in zip(self.counts, tried, strict=True)]
        decades = max(fits)
        names = {name for name, fit in zip(CODERS, fits, strict=True) if fit >= ABOUT_AS_WELL * decades}
        return " or ".join(sorted(names)), decades

    def _fit(self, counts: Array, tried: float) -> float:
        peak = int(np.argmax(counts))
        apart = (np.arange(len(counts)) - peak + NEIGHBOURS) % SAME_GRID
        by_chance = BY_CHANCE * tried
        if counts[peak] - by_chance < PEAK_OVER_NEXT * (counts[apart > 2 * NEIGHBOURS].max() - by_chance):
            return 0.0
        share = min(max(counts[peak] / tried, BY_CHANCE), 1 - 1e-12)
        nats = tried * (share * np.log(share / BY_CHANCE) + (1 - share) * np.log((1 - share) / (1 - BY_CHANCE)))
        return float((nats - np.log(sum(len(row) for row in self.counts))) / np.log(10))


def treble(x: Array) -> float:
    """Power where the coefficients lie, as the variance of a white noise that has as much there."""
    fade = np.hanning(len(x))
    power = np.abs(np.fft.rfft(x * fade)) ** 2
    low, high = (band * len(power) // 32 for band in (SUBBANDS[0], SUBBANDS[-1] + 1))
    return float(power[low:high].mean() / (fade @ fade))


def likeness(x: Array) -> Array:
    """How much the treble of *x* is like itself 0, 1, 2 ... samples later, from 1 to -1."""
    bends = np.diff(x, 2)
    powers = np.abs(np.fft.rfft(bends, 2 * len(x))) ** 2
    lagged = np.fft.irfft(powers)[: len(bends)]
    return np.asarray(lagged / max(lagged[0], 1e-300) * len(bends) / np.arange(len(bends), 0, -1))


@compiled(fast=ANY_ORDER)
def steady_treble(x: Array) -> float:
    """Mean square of the second difference in the weakest of every second piece of *x*: treble that goes on."""
    least = np.inf
    for start in range(0, len(x) - PIECE + 1, 2 * PIECE):
        total = 0.0
        for n in range(start + 1, start + PIECE - 1):
            bend = x[n - 1] - 2.0 * x[n] + x[n + 1]
            total += bend * bend
        least = min(least, total / (PIECE - 2))
    return least
