"""The long-term spectrum, where it ends, and what that says about the sound's earlier life."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.dsp.spectra import (
    BINS_A_BAND,
    add_power,
    band_edge_hz,
    hann,
    third_octaves,
    upsampled_from_hz,
    window_frames,
)
from delivery.measure.meter import NO_SOUND, SILENT, Array, all_missing, planar
from delivery.model.figure import Figure, Reading, Subject

PRACTICE = "common practice, no source"
IEC_61260 = "bands: IEC 61260-1; long-term average of Hann windows"
QUIET_DBFS = -70.0
HOP_WINDOWS = 2
KEPT_WINDOWS = 2048
RARE = 0.99
LEAST_S = 10.0
STANDARD_RATE_HZ = 48_000


class Spectrum:
    """Power average of every second window of 0.19 s, side by side; silent ones left out, all channels together.

    The narrow-band levels of single windows are kept too (every second, fourth ... one in long files), to know what
    99 of 100 windows stay under: an edge that most of the music ignores is no edge.
    """

    subject = Subject.SPECTRUM
    gives = (
        Figure("third_octave_hz", "Hz", None, "Middle of each third-octave band.", IEC_61260),
        Figure(
            "third_octave_db",
            "dB",
            None,
            "Level of each band relative to the sum of all, silence left out.",
            IEC_61260,
            along="third_octave_hz",
        ),
        Figure(
            "band_edge_hz",
            "Hz",
            0,
            "Where the spectrum ends: it falls by 20 dB or more within 1 kHz and stays down.",
            PRACTICE,
        ),
        Figure(
            "upsampled_from_hz",
            "Hz",
            0,
            "The lower rate whose band this sound fills and leaves; 0: no evidence. A sign, never a proof.",
            PRACTICE,
            Subject.HONESTY,
        ),
    )

    def __init__(self, sound: SoundFacts) -> None:
        self._sound = sound
        self._rate_hz = sound.rate_hz
        self._size = window_frames(sound.rate_hz)
        self._window = hann(self._size)
        self._least = self._size * self._size / 2 * sound.channels * 10 ** (QUIET_DBFS / 10)
        self._buffer = np.zeros((sound.channels, self._size))
        self._filled = self._skip = 0
        self._total = np.zeros(self._size // 2 + 1)
        self._kept = np.zeros((KEPT_WINDOWS, self._size // 2 // BINS_A_BAND), np.float32)
        self._bands = np.zeros(self._kept.shape[1])
        self._stride = 1
        self._loud = self._frames = 0

    def update(self, block: Array) -> None:
        samples = planar(block)
        self._frames += len(block)
        at = min(self._skip, len(block))
        self._skip -= at
        while at < len(block):
            taken = min(self._size - self._filled, len(block) - at)
            self._buffer[:, self._filled : self._filled + taken] = samples[:, at : at + taken]
            self._filled += taken
            at += taken
            if self._filled == self._size:
                self._take(np.fft.rfft(self._buffer * self._window, axis=-1))
                self._filled = 0
                passed = min((HOP_WINDOWS - 1) * self._size, len(block) - at)
                self._skip = (HOP_WINDOWS - 1) * self._size - passed
                at += passed

    def _take(self, spectra: NDArray[np.complex128]) -> None:
        """Add one window, and keep its narrow bands; when there is no room left, every second one makes some."""
        if not add_power(spectra, self._least, self._total, self._bands):
            return
        if self._loud == self._stride * KEPT_WINDOWS:
            self._kept[: KEPT_WINDOWS // 2] = self._kept[::2].copy()
            self._stride *= 2
        if self._loud % self._stride == 0:
            self._kept[self._loud // self._stride] = self._bands
        self._loud += 1

    def result(self) -> tuple[Reading, ...]:
        if not self._frames:
            return all_missing(self.gives, NO_SOUND)
        if not self._loud:
            short = self._frames < self._size
            return all_missing(self.gives, f"too short: under {self._size} frames" if short else SILENT)
        hz, levels = third_octaves(self._total, self._rate_hz / self._size)
        return Reading(hz), Reading(levels), self._edge(), self._upsampled()

    def _edge(self) -> Reading:
        edge_hz = band_edge_hz(self._rarely_exceeded_db(), self._band_hz)
        return Reading.missing("no steep end of the band") if edge_hz is None else Reading(edge_hz)

    def _upsampled(self) -> Reading:
        if self._rate_hz <= STANDARD_RATE_HZ:
            return Reading.missing("cannot be told at 48 kHz or less")
        if self._frames < LEAST_S * self._rate_hz:
            return Reading.missing("too short: under 10 s")
        found = upsampled_from_hz(self._rarely_exceeded_db(), self._band_hz, self._dither_db())
        return Reading.missing("too dull to tell") if found is None else Reading(found)

    def _dither_db(self) -> float:
        """Level of triangular dither (a quarter step squared) of the stated word length, in every bin."""
        step = 2.0 ** (1 - (self._sound.bits or 24))
        return 10 * float(np.log10(step * step / 4 * self._size * self._sound.channels))

    @property
    def _band_hz(self) -> float:
        return BINS_A_BAND * self._rate_hz / self._size

    def _rarely_exceeded_db(self) -> Array:
        """What 99 of 100 windows stay under, in each narrow band."""
        kept = self._kept[: -(-self._loud // self._stride)]
        place = min(round(RARE * (len(kept) - 1)), len(kept) - 1)
        rare = np.partition(kept.T.copy(), place, axis=1)[:, place].astype(np.float64)
        return 10 * np.log10(np.maximum(rare, 1e-30))
