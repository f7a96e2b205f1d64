"""Traces of a lossy coder from before a conversion of sample rate.

A converter moves the samples and leaves the waveform: brought back to the coder's rate, the audio has the zeros of
`codec_traces` again, if its samples lie where the coder's were, within about a thirtieth of a sample. So sixteen delays
are tried. No published method, own.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.history.codec_traces import (
    BINS,
    CODERS,
    WINDOWS,
    Excerpt,
    add_from,
    best_fit,
    frame_zeros,
    likeness,
    repeats,
)
from delivery.dsp.history.layout import FRAME, GROUP

Array = NDArray[np.float64]

PARTS = {44_100: 147, 48_000: 160}
"""Samples in 1/300 s."""
WHOLE = {44_100: 40, 48_000: 38}
"""Parts of 1/300 s in an excerpt; one more at 44.1 kHz would make a number of samples that is slowly transformed."""
DELAYS = 16
FRAMES = 3
"""Of one excerpt; what is left at its edges belongs to the converter."""
MOST_ALIKE = 0.8
"""Stricter than at the file's own rate: sixteen delays give sound that repeats itself sixteen times the chances."""
TOGETHER = 4
"""Delays that are transformed at once: NumPy is quicker with many rows; of more, the spectra would leave the cache."""
ROUNDS = ((2, DELAYS), (4, 4), (8, 1))
"""Up to so many excerpts are examined at so many delays, those with the most zeros in the rounds before."""


def other_rate_hz(rate_hz: int) -> int | None:
    """The rate from which audio at *rate_hz* may have been converted; None if that is not searched."""
    return next((hz for hz in PARTS if hz != rate_hz), None) if rate_hz in PARTS else None


def coder_before_conversion(excerpts: Sequence[Excerpt], rate_hz: int, coder_hz: int) -> tuple[str, float]:
    """The coder or coders whose frames fit best at *coder_hz*, and the probability of that by chance.

    Parameters
    ----------
    excerpts : of `codec_traces.EXCERPT` samples each, at *rate_hz*; the best first
    rate_hz, coder_hz : both of PARTS

    Returns
    -------
    Names ('AAC', 'Vorbis', 'AAC or Vorbis'; MP3 is not searched), and powers of ten as in `CodecTraces.best`.
    """
    moved = [_Moved(excerpt, rate_hz, coder_hz) for excerpt in excerpts]
    once = [each for each in moved if not repeats(likeness(each.by([0.0])[1][0]), FRAME, FRAMES, MOST_ALIKE)]
    counts, delays, begin = np.zeros((DELAYS, len(WINDOWS), FRAME)), list(range(DELAYS)), 0
    for end, kept in ROUNDS:
        delays = _best(counts, delays)[:kept]
        _count(once[begin:end], delays, counts)
        begin = end
    tried = [float(FRAMES * GROUP * len(BINS) * len(once))] * len(WINDOWS)
    best = counts[_best(counts, delays)[0]]
    return best_fit(CODERS[: len(WINDOWS)], list(best), tried, DELAYS * len(WINDOWS) * FRAME)


def _count(excerpts: Sequence[_Moved], delays: list[int], counts: Array) -> None:
    """Add the zeros of these excerpts at these delays to *counts*, (DELAYS, windows, FRAME)."""
    own, firsts, sounds = [], [], []
    for excerpt in excerpts:
        for at in range(0, len(delays), TOGETHER):
            few = delays[at : at + TOGETHER]
            begins, samples = excerpt.by([delay / DELAYS for delay in few])
            own, firsts, sounds = own + few, firsts + begins, [*sounds, *samples]
    for delay, first, zeros in zip(own, firsts, frame_zeros(sounds, FRAMES), strict=True):
        add_from(counts[delay], zeros, first)


def _best(counts: Array, delays: list[int]) -> list[int]:
    """The *delays* in order of their highest count."""
    return sorted(delays, key=lambda delay: float(counts[delay].max()), reverse=True)


class _Moved:
    """An excerpt at the coder's rate, by way of its spectrum, with samples at any fraction of a sample."""

    def __init__(self, excerpt: Excerpt, rate_hz: int, coder_hz: int) -> None:
        whole, parts, coder_parts = WHOLE[rate_hz], PARTS[rate_hz], PARTS[coder_hz]
        self._frames = whole * coder_parts
        self._begins = excerpt.at * coder_parts / parts
        spectrum = np.fft.rfft(excerpt.samples[: whole * parts])
        self._spectrum = np.zeros(self._frames // 2 + 1, np.complex128)
        kept = min(len(spectrum), len(self._spectrum))
        self._spectrum[:kept] = spectrum[:kept]

    def by(self, fractions: Sequence[float]) -> tuple[list[int], Array]:
        """Of each: the whole frame, at the coder's rate, after which the samples begin by that fraction, and these."""
        needed = (FRAMES + 2) * FRAME
        skipped = (self._frames - needed) // 2
        firsts = [int(np.ceil(self._begins + skipped - fraction)) for fraction in fractions]
        ahead = [first + part - self._begins - skipped for first, part in zip(firsts, fractions, strict=True)]
        turned = self._spectrum * _turns(np.array(ahead) / self._frames, len(self._spectrum))
        return firsts, np.fft.irfft(turned, self._frames)[:, skipped : skipped + needed]


def _turns(shares: Array, count: int) -> NDArray[np.complex128]:
    """(shares, count) exp(2j * pi * share * k): products of few such numbers are quicker than so many sines."""
    steps, few = (
        np.exp(2j * np.pi * np.multiply.outer(shares, np.arange(0, end, step))) for end, step in ((count, 64), (64, 1))
    )
    return np.asarray((steps[:, :, None] * few[:, None, :]).reshape(len(shares), -1)[:, :count])
