"""The long-term spectrum, its band edge, and signs of processing history in it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.dsp.blocks.framing import Framing, spread
from delivery.dsp.blocks.series import Series
from delivery.dsp.spectrum.band_sums import COUNTS, LONG, LOUD, WINDOWS, BandColumns
from delivery.dsp.spectrum.coder_edge import coder_edge_hz
from delivery.dsp.spectrum.images import images
from delivery.dsp.spectrum.jackknife import Stretches
from delivery.dsp.spectrum.long_windows import LongWindows
from delivery.dsp.spectrum.quantile_error import level_error_db, place_of
from delivery.dsp.spectrum.spectra import (
    BINS_A_BAND,
    add_power,
    band_edge_hz,
    band_sums,
    dbfs,
    early_edge_hz,
    hann,
    levels_db,
    upsampled_from_hz,
    window_frames,
)
from delivery.dsp.stereo.cross_spectra import LEFT, NOMINAL_HZ, REAL, RIGHT, ROWS, add_cross, delay_frames
from delivery.meters.low_rate import LowRate
from delivery.meters.meter import NO_SOUND, NOT_STEREO, SILENT, Array, all_missing, planar
from delivery.meters.spectrum_figures import FIGURES
from delivery.model.figure import Reading, Subject

QUIET_DBFS = -70.0
ENOUGH_WINDOWS, MOST_APART = 280, 4.5
"""Windows overlap by up to 75 % until there are this many; in long files they are up to 4.5 windows apart."""
ENOUGH_LONG, LONG_APART = 430, 0.5
FEW_BYTES, UNKNOWN_APART = 4_000_000, 2
"""For lossy files, whose length is not known beforehand: up to this many bytes windows overlap by half."""
TOGETHER = 4
"""Windows that are transformed at once: NumPy is quicker with many rows; of more, spectra would leave the cache."""
KEPT_WINDOWS = 2048
TOO_FEW = "too short to tell"
NO_BASS = "hardly any low frequencies"
RARE = 0.99
LEAST_S = 10.0
STANDARD_RATE_HZ = 48_000
EARLY_EDGE_RATE_HZ = 44_100


class Spectrum:
    """Power average of windows of 0.13 to 0.19 s, all channels together, silent ones left out; below 355 Hz of 1.3 s.

    In short files they overlap by up to three quarters, in long ones they do not overlap.

    The narrow-band levels of single windows are kept too (every second, fourth ... one in long files), for the level
    that 99 of 100 windows do not exceed: an edge that most of the music exceeds is not one.
    """

    subject = Subject.SPECTRUM
    method = (
        "Mean power of Hann windows of 0.13 to 0.19 s, from 355 Hz down of 1.3 to 2.3 s on a decimated copy; "
        "overlapping by "
        f"up to 75 % until there are {ENOUGH_WINDOWS}, in long files up to {MOST_APART:g} windows apart (the "
        "long ones by "
        f"half at least). Windows below {QUIET_DBFS:.0f} dBFS rms are left out; below 20 Hz nothing counts. "
        "Band sums are "
        "cut at their edges, a line counting by the share of its width. Standard error: jackknife over "
        "stretches of time "
        "of 1.5 s or more, 64 at most."
    )
    least_rate_hz = 1000
    shares = LowRate
    gives = FIGURES

    def __init__(self, sound: SoundFacts, low: LowRate | None = None) -> None:
        self._low = low = low or LowRate(sound)
        self._sound = sound
        self._rate_hz = sound.rate_hz
        self._size = window_frames(sound.rate_hz)
        self._window = hann(self._size)
        self._least = self._size * self._size / 2 * sound.channels * 10 ** (QUIET_DBFS / 10)
        few = sound.size_bytes <= FEW_BYTES
        frames = sound.frames or round((0.5 if few else UNKNOWN_APART) * self._size * ENOUGH_WINDOWS)
        self._framing = Framing(sound.channels, self._size, spread(frames, self._size, ENOUGH_WINDOWS, MOST_APART))
        self._longs = LongWindows(sound.channels, low.rate_hz, sound.duration_s, low.response, ENOUGH_LONG, LONG_APART)
        bins = self._size // 2 + 1
        self._windowed = np.empty((TOGETHER, sound.channels, self._size))
        self._spectra = np.empty((TOGETHER, sound.channels, bins), np.complex128)
        self._waiting = 0
        self._power, self._total = np.zeros(bins), np.zeros(bins)
        self._stereo = sound.channels == 2
        self._cross = np.zeros((ROWS, bins))
        self._columns = BandColumns(
            sound.rate_hz, self._size, self._longs.rate_hz, self._longs.size, stereo=self._stereo
        )
        self._stretches = Stretches(self._columns.width, sound.duration_s)
        self._open_s, self._open_ends_s = 0.0, 0.0
        self._reported_total, self._reported_product, self._reported_counts = np.zeros(bins), np.zeros(bins), (0, 0)
        self._upper = self._columns.edges[: self._columns.thirds][~self._columns.long[: self._columns.thirds]]
        self._kept_thirds = np.zeros((KEPT_WINDOWS, len(self._upper)), np.float32)
        self._kept = np.zeros((KEPT_WINDOWS, self._size // 2 // BINS_A_BAND), np.float32)
        self._kept_longs = Series(self._columns.thirds - len(self._upper))
        self._bands = np.zeros(self._kept.shape[1])
        self._stride = 1
        self._windows = self._loud = self._frames = 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        samples = planar(block)
        self._frames += len(block)
        for start, piece in self._framing.windows(samples):
            if start / self._rate_hz >= self._open_ends_s:
                self._end_stretch(start / self._rate_hz)
            np.multiply(piece, self._window, out=self._windowed[self._waiting])
            self._windows += 1
            self._waiting += 1
            if self._waiting == TOGETHER:
                self._transform()
        for windows in self._longs.take(self._low.samples(block)):
            self._take_long(*windows)

    def _transform(self) -> None:
        """Take the windows that wait."""
        for spectra in np.fft.rfft(self._windowed[: self._waiting], out=self._spectra[: self._waiting]):
            self._take(spectra)
        self._waiting = 0

    def _end_stretch(self, next_s: float) -> None:
        """Record the gain of the short windows' bands since the segment began; the next one begins."""
        self._transform()
        product = self._cross[REAL]
        gained_product = (product - self._reported_product)[None] if self._stereo else None
        (row,) = self._columns.rows((self._total - self._reported_total)[None], gained_product, long=False)
        row[WINDOWS], row[LOUD] = self._windows - self._reported_counts[0], self._loud - self._reported_counts[1]
        self._stretches.add(self._open_s, row)
        self._reported_total, self._reported_product = self._total.copy(), product.copy()
        self._reported_counts = self._windows, self._loud
        self._open_s, self._open_ends_s = next_s, self._stretches.ends(next_s)[1]

    def _take_long(self, places_s: Array, powers: Array, products: Array) -> None:
        rows = self._columns.rows(powers, products if self._stereo else None, long=True)
        rows[:, LONG] = 1
        for at_s, row in zip(places_s.tolist(), rows, strict=True):
            self._stretches.add(at_s, row)
        self._kept_longs.append(rows[:, COUNTS : COUNTS + self._columns.thirds - len(self._upper)])

    def _take(self, spectra: NDArray[np.complex128]) -> None:
        """Add one window, and keep its narrow bands; if the buffer is full, every second row is dropped."""
        if not add_power(spectra, self._least, self._power, self._total, self._bands):
            return
        if self._stereo:
            add_cross(spectra, self._cross)
        if self._loud == self._stride * KEPT_WINDOWS:
            for kept in (self._kept, self._kept_thirds):
                kept[: KEPT_WINDOWS // 2] = kept[::2].copy()
            self._stride *= 2
        if self._loud % self._stride == 0:
            self._kept[self._loud // self._stride] = self._bands
            self._kept_thirds[self._loud // self._stride] = band_sums(self._power[None], self._upper, self._bin_hz)
        self._loud += 1

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if not self._frames:
            return all_missing(self.gives, NO_SOUND)
        self._transform()
        if not self._loud:
            short = self._frames < self._size
            return all_missing(self.gives, f"too short: under {self._size} frames" if short else SILENT)
        for windows in self._longs.last():
            self._take_long(*windows)
        self._end_stretch(self._frames / self._rate_hz)
        sums = self._stretches.total()
        if not self._columns.means(sums)[0][: self._columns.thirds].any():
            return all_missing(self.gives, "no sound in any third octave")
        errors = self._errors()
        return (
            Reading(tuple(round(float(middle), 2) for middle in self._columns.middles)),
            Reading(tuple(self._columns.third_octaves(sums).tolist())),
            _all(errors[: self._columns.thirds]),
            Reading(self._rare_thirds_db(sums)),
            self._rare_errors(float(errors[self._columns.thirds])),
            Reading(float(self._columns.level_dbfs(sums))),
            *(_one(value) for value in errors[self._columns.thirds : self._columns.thirds + 2]),
            *self._signs(),
            *self._both_channels(sums, errors[self._columns.thirds + 2 :]),
        )

    def _errors(self) -> Array:
        """Standard errors of third octaves, level, tilt, mono losses, side over mid; NaN if there is none."""
        columns = self._columns

        def figures(sums: Array) -> Array:
            singles = np.stack([columns.level_dbfs(sums), columns.tilt_db(sums)], axis=-1)
            rows = (columns.third_octaves(sums), singles, columns.octave_rows(sums)[1], columns.side_mid(sums))
            return np.concatenate(rows, axis=-1)

        found = self._stretches.standard_error(figures)
        return np.full(len(figures(self._stretches.total())), np.nan) if found is None else found

    def _rare_thirds_db(self, sums: Array) -> tuple[float, ...]:
        """Level that 99 of 100 windows do not exceed, relative to the sum of all third octaves."""
        longs, short = self._kept_longs.rows, self._rare(self._kept_thirds)
        place = place_of(RARE, len(longs))
        rare = np.sort(longs, axis=0)[place] if len(longs) else np.zeros(longs.shape[1])
        powers = np.concatenate([rare * 2 / self._longs.size**2, short * 2 / self._size**2])
        whole = self._columns.means(sums)[0][: self._columns.thirds].sum()
        return tuple(levels_db(powers, whole).tolist())

    def _rare_errors(self, level_error_of_sum_db: float) -> Reading:
        """Standard errors of these levels; the level of the sum has its own."""
        short = self._kept_thirds[: -(-self._loud // self._stride)].astype(np.float64)
        rows = (self._kept_longs.rows, short)
        errors = [level_error_db(each, RARE, self._frames / self._rate_hz) for each in rows if each.shape[1]]
        if any(error is None for error in errors):
            return Reading.missing(TOO_FEW)
        return _all(np.hypot(np.concatenate([error for error in errors if error is not None]), level_error_of_sum_db))

    def _both_channels(self, sums: Array, errors: Array) -> tuple[Reading, ...]:
        own = self.gives[-10:]
        if not self._stereo:
            return all_missing(own, NOT_STEREO)
        if not (self._cross[LEFT].any() and self._cross[RIGHT].any()):
            return all_missing(own, "a channel is silent")
        audible, losses = self._columns.octave_rows(sums)
        lows = self._columns.side_mid(sums)
        delay = delay_frames(self._cross, self._rate_hz)
        return (
            Reading(tuple(hz for hz, there in zip(NOMINAL_HZ, audible, strict=False) if there)),
            Reading(tuple(losses[audible].tolist())),
            _all(errors[: len(audible)][audible]),
            *(Reading.missing(NO_BASS) if np.isnan(low) else Reading(low) for low in lows.tolist()),
            *(_one(error) for error in errors[len(audible) :]),
            Reading.missing("too few frequencies to decide") if delay is None else Reading(delay),
            Reading(self._stretches.length_s),
            Reading(self._octaves_over_time()),
        )

    def _octaves_over_time(self) -> tuple[tuple[float, float, float, float], ...]:
        mid, side = (dbfs(power) for power in self._columns.mid_and_side(self._stretches.parts()))
        numbers, octaves = np.nonzero(~np.isnan(mid))
        at_s, hz = numbers * self._stretches.length_s, np.array(NOMINAL_HZ)[octaves]
        return tuple(
            zip(*(each.tolist() for each in (at_s, hz, mid[numbers, octaves], side[numbers, octaves])), strict=True)
        )

    def _signs(self) -> tuple[Reading, ...]:
        rare_db = self._rarely_exceeded_db()
        edge_hz = band_edge_hz(rare_db, self._band_hz)
        edge = Reading.missing("no steep end of the band") if edge_hz is None else Reading(edge_hz)
        return edge, self._upsampled(rare_db), self._early_edge(rare_db, edge_hz)

    def _upsampled(self, rare_db: Array) -> Reading:
        if self._rate_hz < STANDARD_RATE_HZ:
            return Reading.missing("cannot be decided below 48 kHz")
        if self._frames < LEAST_S * self._rate_hz:
            return Reading.missing("too short: under 10 s")
        found = upsampled_from_hz(rare_db, self._band_hz, self._dither_db())
        mirror = images(self._rows(self._kept), self._band_hz)
        if mirror and mirror.are_there(raised=bool(found)):
            return Reading(mirror.rate_hz)
        if mirror and found and mirror.contradict(found):
            return Reading.missing(f"raised from {found / 1000:g} or {mirror.rate_hz / 1000:g} kHz, cannot tell which")
        return Reading.missing("too dull to tell") if found is None else Reading(found)

    def _early_edge(self, rare_db: Array, edge_hz: float | None) -> Reading:
        if self._sound.lossy:
            return Reading.missing(f"{self._sound.coding} is lossy itself")
        if self._rate_hz < EARLY_EDGE_RATE_HZ:
            return Reading.missing("cannot be decided below 44.1 kHz")
        found = early_edge_hz(rare_db, self._band_hz, self._dither_db(), edge_hz)
        found = found or coder_edge_hz(self._total, self._bin_hz) or found
        return Reading.missing("too dull to tell") if found is None else Reading(found)

    def _dither_db(self) -> float:
        """Level of triangular dither (a quarter step squared) at the stated bit depth, in every bin."""
        step = 2.0 ** (1 - (self._sound.bits or 24))
        return 10 * float(np.log10(step * step / 4 * self._size * self._sound.channels))

    @property
    def _bin_hz(self) -> float:
        return self._rate_hz / self._size

    @property
    def _band_hz(self) -> float:
        return BINS_A_BAND * self._bin_hz

    def _rarely_exceeded_db(self) -> Array:
        """Level that 99 of 100 windows do not exceed, in each narrow band."""
        return 10 * np.log10(np.maximum(self._rare(self._kept), 1e-30))

    def _rare(self, kept: NDArray[np.float32]) -> Array:
        """Value that 99 of 100 rows do not exceed, in each column."""
        rows = self._rows(kept)
        place = place_of(RARE, len(rows))
        return np.partition(rows.T.copy(), place, axis=1)[:, place].astype(np.float64)

    def _rows(self, kept: NDArray[np.float32]) -> NDArray[np.float32]:
        return kept[: -(-self._loud // self._stride)]


def _one(error: float) -> Reading:
    return Reading(float(error)) if np.isfinite(error) else Reading.missing(TOO_FEW)


def _all(errors: Array) -> Reading:
    return Reading(tuple(errors.tolist())) if np.isfinite(errors).all() else Reading.missing(TOO_FEW)
