"""Figures of bands from sums of powers: third octaves, mono loss, side against mid. Bass comes from longer windows.

A third octave needs windows of 1.3 s at 25 Hz and of 0.13 s at 400 Hz for class 1 of IEC 61260-1:2014, Table 1.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.spectrum.spectra import band_sums, levels_db, third_octave_bands
from delivery.dsp.stereo.cross_spectra import EMPTY, OCTAVES, share_to_decibels, side_mid_db

Array = NDArray[np.float64]

JOIN_HZ = 1000 * 10 ** (-4.5 / 10)
"""Lower edge of the third octave of 400 Hz and of the octave of 500 Hz; lower bands come from long windows."""
SIDE_MID_HZ = ((20.0, 150.0), (20.0, 300.0))
WINDOWS, LOUD, LONG = 0, 1, 2
"""Columns: windows examined, those of them that are not silent, long windows."""
COUNTS = 3


TILT_HZ = (99.0, 10_001.0)
TILT_BANDS = 21
EMPTY_BAND_DB = -100.0


def tilt_db(middles_hz: Array, levels_db: Array) -> Array:
    """Slope in dB per octave of a straight line through the third octaves from 100 Hz to 10 kHz, by least squares.

    NaN if a band is missing or silent. *levels_db* is (..., bands), the result (...).
    """
    requested = (middles_hz > TILT_HZ[0]) & (middles_hz < TILT_HZ[1])
    if np.count_nonzero(requested) < TILT_BANDS:
        return np.full(levels_db.shape[:-1], np.nan)
    octaves, levels = np.log2(middles_hz[requested]), levels_db[..., requested]
    octaves -= octaves.mean()
    slopes = (octaves * levels).sum(axis=-1) / (octaves * octaves).sum()
    return np.where(levels.min(axis=-1) < EMPTY_BAND_DB, np.nan, slopes)


class BandColumns:
    """Columns of the sums of each band in a row of numbers, and the figures computed from one row or from many at once.

    Parameters
    ----------
    rate_hz, size : of the short windows, whose power is 1
    long_hz, long_size : the same of the long ones
    stereo : whether sums of products of both channels follow the powers
    """

    def __init__(self, rate_hz: int, size: int, long_hz: float, long_size: int, *, stereo: bool) -> None:
        self._stereo = stereo
        self.bin_hz, self.long_bin_hz = rate_hz / size, long_hz / long_size
        self.middles, thirds = third_octave_bands(size // 2 + 1, self.bin_hz)
        octave_middles = np.array([1000 * 10 ** (3 * k / 10) for k in OCTAVES])
        octaves = np.stack([octave_middles * 10**-0.15, octave_middles * 10**0.15], axis=1)
        octaves = octaves[octaves[:, 1] <= (size // 2 + 0.5) * self.bin_hz]
        self.edges = np.concatenate([thirds, octaves, np.array(SIDE_MID_HZ)])
        self.thirds, self.octaves = len(thirds), len(octaves)
        self.long = self.edges[:, 1] < 1.001 * JOIN_HZ
        self._of_kind = tuple(
            (np.ascontiguousarray(self.edges[chosen]), COUNTS + np.flatnonzero(chosen))
            for chosen in (~self.long, self.long)
        )
        """Edges and columns of the bands that come from short windows, and of those from long ones."""
        self.width = COUNTS + len(self.edges) * (2 if stereo else 1)
        self._short_scale, self._long_scale = 2 / size**2, 2 / long_size**2

    def rows(self, powers: Array, products: Array | None, *, long: bool) -> Array:
        """(windows, width): sums of every band of one kind of window, out of (windows, bins); all else is 0."""
        edges, columns = self._of_kind[long]
        bin_hz = self.long_bin_hz if long else self.bin_hz
        rows = np.zeros((len(powers), self.width))
        for at, values in enumerate((powers, products)):
            if values is not None:
                rows[:, columns + at * len(self.edges)] = band_sums(values, edges, bin_hz)
        return rows

    def means(self, sums: Array) -> tuple[Array, Array]:
        """Mean square of each band and mean product of both channels in it, silence left out; (..., bands)."""
        windows, loud, long = np.maximum(np.moveaxis(sums[..., :COUNTS, None], -2, 0), 1e-9)
        short_scale = self._short_scale / loud
        long_scale = self._long_scale / np.maximum(long, 1.0) * windows / loud
        scale = np.where(self.long, long_scale, short_scale)
        powers = sums[..., COUNTS : COUNTS + len(self.edges)] * scale
        products = sums[..., COUNTS + len(self.edges) :] * scale if self._stereo else np.zeros_like(powers)
        return powers, products

    def third_octaves(self, sums: Array) -> Array:
        """dB of each third octave relative to the sum of all; (..., bands)."""
        powers = self.means(sums)[0][..., : self.thirds]
        return levels_db(powers, powers.sum(axis=-1, keepdims=True))

    def level_dbfs(self, sums: Array) -> Array:
        """Level of the sum of all third octaves, channels added up."""
        whole = self.means(sums)[0][..., : self.thirds].sum(axis=-1)
        return np.asarray(10 * np.log10(np.maximum(whole, 1e-30)))

    def tilt_db(self, sums: Array) -> Array:
        """Spectral tilt of *sums*, dB an octave; NaN if too few bands have energy."""
        return tilt_db(self.middles, self.third_octaves(sums))

    def octave_rows(self, sums: Array) -> tuple[Array, Array]:
        """Which octaves contain audio, and the loss in dB of every octave in the mono sum; (..., octaves)."""
        powers, products = self._octaves(sums)
        audible = powers > EMPTY * powers.sum(axis=-1, keepdims=True)
        kept = 0.5 + np.divide(products, powers, out=np.zeros_like(powers), where=audible)
        return audible, share_to_decibels(kept)

    def mid_and_side(self, sums: Array) -> tuple[Array, Array]:
        """Mean square of (left + right) / root 2 and of (left - right) / root 2 in every octave; they add up to both.

        NaN where these sums hold no window of the kind that the octave is measured by, or nothing but silence.
        """
        powers, products = self._octaves(sums)
        loud, long = sums[..., LOUD, None] > 0, sums[..., LONG, None] > 0
        powers = np.where(loud & (~self.long[self.thirds : self.thirds + self.octaves] | long), powers, np.nan)
        return powers / 2 + products, powers / 2 - products

    def _octaves(self, sums: Array) -> tuple[Array, Array]:
        powers, products = (rows[..., self.thirds : self.thirds + self.octaves] for rows in self.means(sums))
        return powers, products

    def side_mid(self, sums: Array) -> Array:
        """dB of side over mid in each of SIDE_MID_HZ, (..., 2); NaN if there is too little audio."""
        powers, products = self.means(sums)
        whole = powers[..., : self.thirds].sum(axis=-1, keepdims=True)
        both, product = powers[..., -len(SIDE_MID_HZ) :], products[..., -len(SIDE_MID_HZ) :]
        return np.where(both > EMPTY * whole, side_mid_db(both, product), np.nan)
