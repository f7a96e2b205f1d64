"""Traces of a lossy coder from before a conversion of sample rate.

A converter moves the samples and leaves the waveform: brought back to the coder's rate, the audio has the zeros of
`codec_traces` again, if its samples lie where the coder's were, within about a thirtieth of a sample. So sixteen delays
are tried. No published method, own.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import islice

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
    moved = _Moved(excerpts, rate_hz, coder_hz)
    alike = likeness(moved.by([(number, 0.0) for number in range(len(excerpts))])[1])
    once = [number for number, own in enumerate(alike) if not repeats(own, FRAME, FRAMES, MOST_ALIKE)]
    counts, delays, begin = np.zeros((DELAYS, len(WINDOWS), FRAME)), list(range(DELAYS)), 0
    for end, kept in ROUNDS:
        numbers, delays = once[begin:end], delays[:kept]
        tried = [(number, delay) for number in numbers for delay in delays]
        firsts, samples = moved.by([(number, delay / DELAYS) for number, delay in tried])
        found = zip(tried, firsts, frame_zeros(samples, FRAMES), strict=True)
        for _ in numbers:
            for (_, delay), first, zeros in islice(found, len(delays)):
                add_from(counts[delay], zeros, first)
            delays = _best(
                counts, delays
            )  # after each one: where delays have as many zeros, the excerpts before decide
        begin = end
    coefficients = [float(FRAMES * GROUP * len(BINS) * len(once))] * len(WINDOWS)
    best = counts[delays[0]]
    return best_fit(CODERS[: len(WINDOWS)], list(best), coefficients, DELAYS * len(WINDOWS) * FRAME)


def _best(counts: Array, delays: list[int]) -> list[int]:
    """The *delays* in order of their highest count."""
    return sorted(delays, key=lambda delay: float(counts[delay].max()), reverse=True)


class _Moved:
    """Excerpts at the coder's rate, by way of their spectra, with samples at any fraction of a sample."""

    def __init__(self, excerpts: Sequence[Excerpt], rate_hz: int, coder_hz: int) -> None:
        whole, parts, coder_parts = WHOLE[rate_hz], PARTS[rate_hz], PARTS[coder_hz]
        self._frames = whole * coder_parts
        self._begins = [excerpt.at * coder_parts / parts for excerpt in excerpts]
        spectra = np.fft.rfft(np.stack([excerpt.samples[: whole * parts] for excerpt in excerpts]))
        self._spectra = np.zeros((len(excerpts), self._frames // 2 + 1), np.complex128)
        kept = min(spectra.shape[1], self._spectra.shape[1])
        self._spectra[:, :kept] = spectra[:, :kept]

    def by(self, wanted: Sequence[tuple[int, float]]) -> tuple[list[int], Array]:
        """Excerpts at the coder's rate, each shifted by a fraction of a sample.

        Parameters
        ----------
        wanted : number of the excerpt and the fraction, for each

        Returns
        -------
        Frame after which each begins by its fraction, and samples, (wanted, frames) float64.
        """
        needed = (FRAMES + 2) * FRAME
        skipped = (self._frames - needed) // 2
        begins = [self._begins[number] + skipped for number, _ in wanted]
        firsts = [int(np.ceil(begin - fraction)) for begin, (_, fraction) in zip(begins, wanted, strict=True)]
        samples = np.empty((len(wanted), needed))
        for at in range(0, len(wanted), TOGETHER):
            few = slice(at, at + TOGETHER)
            numbers, fractions = zip(*wanted[few], strict=True)
            shares = (np.array(firsts[few]) + fractions - begins[few]) / self._frames
            turned = self._spectra[list(numbers)] * _turns(shares, self._spectra.shape[1])
            samples[few] = np.fft.irfft(turned, self._frames)[:, skipped : skipped + needed]
        return firsts, samples


def _turns(shares: Array, count: int) -> NDArray[np.complex128]:
    """(shares, count) exp(2j * pi * share * k): products of few such numbers are quicker than so many sines."""
    steps, few = (
        np.exp(2j * np.pi * np.multiply.outer(shares, np.arange(0, end, step))) for end, step in ((count, 64), (64, 1))
    )
    return np.asarray((steps[:, :, None] * few[:, None, :]).reshape(len(shares), -1)[:, :count])
