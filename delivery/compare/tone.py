"""Tone of one recording in two files, over the same moments of both: which moments were sampled cancels out. Pure."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.compare.outline import Outline
from delivery.compare.residual import ResidualSums
from delivery.dsp.spectrum.spectra import band_sums, hann

Array = NDArray[np.float64]

LONG_S = 1.3
"""Least length of a window for the bass, as for the spectrum of one file."""
LOW_UP_TO_HZ = 356.0
"""Bands that end below are read from long windows of the decimated sound."""
DEEPEST = 1e-12
"""Of the power of all bands: what is weaker counts as this much, so that two empty bands are equal."""


def aligned_tone(
    sums: ResidualSums, outlines: tuple[Outline, Outline], gain_db: float
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Middles of the third octaves in Hz, and how much more of each the second file has at equal loudness, in dB.

    Parameters
    ----------
    sums : of the first file less the second, which was turned down by *gain_db* before
    outlines : of both over the same time
    gain_db : how much louder the second file is
    """
    matched = sums.bands_of_both()
    low = np.flatnonzero(sums.edges_hz[:, 1] < LOW_UP_TO_HZ)
    for row, (outline, gain) in enumerate(zip(outlines, (1.0, 10 ** (-gain_db / 10)), strict=True)):
        matched[row, low] = gain * _low_bands(outline, sums.edges_hz[low])
    powers = np.maximum(matched, DEEPEST * matched.sum(axis=1).max())
    if not powers.all():
        return (), ()
    return tuple(np.round(sums.middles_hz, 2).tolist()), tuple((10 * np.log10(powers[1] / powers[0])).tolist())


def _low_bands(outline: Outline, edges_hz: Array) -> Array:
    """Mean square of each band in windows that overlap by half, channels added up."""
    size = min(int(2 ** np.ceil(np.log2(LONG_S * outline.low_rate_hz))), outline.lows.shape[1])
    windows = np.lib.stride_tricks.sliding_window_view(outline.lows, size, axis=1)[:, :: size // 2]
    window, power = hann(size).astype(np.float32), np.zeros(size // 2 + 1)
    for channel in windows:
        spectra = np.fft.rfft(np.multiply(channel, window, dtype=np.float32))
        power += np.einsum("ij,ij->j", spectra.real, spectra.real) + np.einsum("ij,ij->j", spectra.imag, spectra.imag)
    power *= 2 / size**2 / windows.shape[1]
    return np.asarray(band_sums(power[None], edges_hz, outline.low_rate_hz / size)[0])
