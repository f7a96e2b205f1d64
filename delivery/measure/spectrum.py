"""The long-term spectrum, where it ends, and what that says about the sound's earlier life."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.dsp.cross import LEFT, RIGHT, ROWS, add_cross, delay_frames, mono_losses, side_to_mid_db
from delivery.dsp.spectra import (
    BINS_A_BAND,
    add_power,
    band_edge_hz,
    band_sums,
    early_edge_hz,
    hann,
    levels_db,
    third_octave_bands,
    third_octaves,
    upsampled_from_hz,
    window_frames,
)
from delivery.measure.meter import NO_SOUND, NOT_STEREO, SILENT, Array, all_missing, planar
from delivery.model.figure import Figure, Reading, Subject
from delivery.model.finding import Weight

PRACTICE = "common practice, no source"
IEC_61260 = "bands: IEC 61260-1; long-term average of Hann windows"
SIDE_MID = "Power of left less right over that of left plus right below"
SIDE_MID_HZ = (150.0, 300.0)
QUIET_DBFS = -70.0
ENOUGH_WINDOWS, MOST_APART, APART_UNKNOWN = 400, 3, 2
"""Long files are looked at one window in two or three, which leaves these many; of some the length is not known."""
GOLDEN = 0.618034
"""Where among the two or three a window stands turns by the golden section, so that no beat keeps step."""
KEPT_WINDOWS = 2048
RARE = 0.99
LEAST_S = 10.0
STANDARD_RATE_HZ = 48_000
EARLY_EDGE_RATE_HZ = 44_100


class Spectrum:
    """Power average of windows of 0.13 to 0.19 s, all channels together, silent ones left out.

    They stand side by side; in long files one in two or three is looked at.

    The narrow-band levels of single windows are kept too (every second, fourth ... one in long files), to know what
    99 of 100 windows stay under: an edge that most of the music ignores is no edge.
    """

    subject = Subject.SPECTRUM
    least_rate_hz = 1000
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
            "third_octave_99_db",
            "dB",
            None,
            "What 99 of 100 windows of 0.13 to 0.19 s stay under in each band, relative to the same sum.",
            IEC_61260,
            along="third_octave_hz",
        ),
        Figure(
            "spectrum_level_dbfs",
            "dBFS",
            1,
            "Level of the sum of all third-octave bands, silence left out, channels added up.",
            IEC_61260,
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
            weight=Weight.STRONG_SIGN,
        ),
        Figure(
            "early_edge_hz",
            "Hz",
            0,
            "A steep end of the band from 15 to 20 kHz, as coders, filters and samplers make it; 0: none. A weak sign.",
            PRACTICE,
            Subject.HONESTY,
            weight=Weight.WEAK_SIGN,
        ),
        Figure("octave_hz", "Hz", None, "Middle of each octave band that holds sound.", IEC_61260, Subject.STEREO),
        Figure(
            "mono_loss_octaves_db",
            "dB",
            None,
            "Level each octave loses in the mono sum: 0 same, 3 unrelated, 120 nothing left.",
            PRACTICE,
            Subject.STEREO,
            along="octave_hz",
        ),
        Figure("side_mid_below_150_db", "dB", 1, f"{SIDE_MID} 150 Hz; within 120 dB.", PRACTICE, Subject.STEREO),
        Figure("side_mid_below_300_db", "dB", 1, f"{SIDE_MID} 300 Hz; within 120 dB.", PRACTICE, Subject.STEREO),
        Figure(
            "channel_delay_frames",
            "frames",
            0,
            "How much later the right channel is, when the file as a whole says so clearly; 0: no clear delay.",
            PRACTICE,
            Subject.STEREO,
        ),
    )

    def __init__(self, sound: SoundFacts) -> None:
        self._sound = sound
        self._rate_hz = sound.rate_hz
        self._size = window_frames(sound.rate_hz)
        self._window = hann(self._size)
        self._least = self._size * self._size / 2 * sound.channels * 10 ** (QUIET_DBFS / 10)
        self._buffer = np.zeros((sound.channels, self._size))
        self._filled = self._skip = self._windows = 0
        self._apart = _windows_apart(sound.frames, self._size)
        bins = self._size // 2 + 1
        self._windowed = np.empty_like(self._buffer)
        self._spectra = np.empty((sound.channels, bins), np.complex128)
        self._power, self._total = np.zeros(bins), np.zeros(bins)
        self._cross = np.zeros((ROWS, bins)) if sound.channels == 2 else None
        _, self._edges = third_octave_bands(bins, self._bin_hz)
        self._kept_thirds = np.zeros((KEPT_WINDOWS, len(self._edges)), np.float32)
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
            piece = samples[:, at : at + taken]
            at += taken
            if taken < self._size:  # a window that lies in two blocks
                self._buffer[:, self._filled : self._filled + taken] = piece
                piece = self._buffer
            self._filled += taken
            if self._filled == self._size:
                np.multiply(piece, self._window, out=self._windowed)
                self._take(np.fft.rfft(self._windowed, out=self._spectra))
                self._filled = 0
                pause = _pause(self._windows, self._apart, self._size)
                passed = min(pause, len(block) - at)
                self._skip = pause - passed
                at += passed
                self._windows += 1

    def _take(self, spectra: NDArray[np.complex128]) -> None:
        """Add one window, and keep its narrow bands; when there is no room left, every second one makes some."""
        if not add_power(spectra, self._least, self._power, self._total, self._bands):
            return
        if self._cross is not None:
            add_cross(spectra, self._cross)
        if self._loud == self._stride * KEPT_WINDOWS:
            for kept in (self._kept, self._kept_thirds):
                kept[: KEPT_WINDOWS // 2] = kept[::2].copy()
            self._stride *= 2
        if self._loud % self._stride == 0:
            self._kept[self._loud // self._stride] = self._bands
            self._kept_thirds[self._loud // self._stride] = band_sums(self._power, self._edges, self._bin_hz)
        self._loud += 1

    def result(self) -> tuple[Reading, ...]:
        if not self._frames:
            return all_missing(self.gives, NO_SOUND)
        if not self._loud:
            short = self._frames < self._size
            return all_missing(self.gives, f"too short: under {self._size} frames" if short else SILENT)
        hz, levels = third_octaves(self._total, self._bin_hz)
        thirds = float(band_sums(self._total, self._edges, self._bin_hz).sum())
        return (
            Reading(hz),
            Reading(levels),
            Reading(levels_db(self._rare(self._kept_thirds), thirds / self._loud)),
            Reading(10 * float(np.log10(thirds / (self._loud * self._size * self._size / 2)))),
            *self._signs(),
            *self._both_channels(),
        )

    def _both_channels(self) -> tuple[Reading, ...]:
        if self._cross is None:
            return all_missing(self.gives[-5:], NOT_STEREO)
        if not (self._cross[LEFT].any() and self._cross[RIGHT].any()):
            return all_missing(self.gives[-5:], "a channel is silent")
        hz, losses = mono_losses(self._cross, self._bin_hz)
        lows = [side_to_mid_db(self._cross, self._bin_hz, below_hz) for below_hz in SIDE_MID_HZ]
        delay = delay_frames(self._cross, self._rate_hz)
        return (
            Reading(hz),
            Reading(losses),
            *(Reading.missing("no lows to speak of") if low is None else Reading(low) for low in lows),
            Reading.missing("too few frequencies to tell") if delay is None else Reading(delay),
        )

    def _signs(self) -> tuple[Reading, ...]:
        rare_db = self._rarely_exceeded_db()
        edge_hz = band_edge_hz(rare_db, self._band_hz)
        edge = Reading.missing("no steep end of the band") if edge_hz is None else Reading(edge_hz)
        return edge, self._upsampled(rare_db), self._early_edge(rare_db, edge_hz)

    def _upsampled(self, rare_db: Array) -> Reading:
        if self._rate_hz <= STANDARD_RATE_HZ:
            return Reading.missing("cannot be told at 48 kHz or less")
        if self._frames < LEAST_S * self._rate_hz:
            return Reading.missing("too short: under 10 s")
        found = upsampled_from_hz(rare_db, self._band_hz, self._dither_db())
        return Reading.missing("too dull to tell") if found is None else Reading(found)

    def _early_edge(self, rare_db: Array, edge_hz: float | None) -> Reading:
        if self._sound.lossy:
            return Reading.missing(f"{self._sound.coding} is lossy itself")
        if self._rate_hz < EARLY_EDGE_RATE_HZ:
            return Reading.missing("cannot be told below 44.1 kHz")
        found = early_edge_hz(rare_db, self._band_hz, self._dither_db(), edge_hz)
        return Reading.missing("too dull to tell") if found is None else Reading(found)

    def _dither_db(self) -> float:
        """Level of triangular dither (a quarter step squared) of the stated word length, in every bin."""
        step = 2.0 ** (1 - (self._sound.bits or 24))
        return 10 * float(np.log10(step * step / 4 * self._size * self._sound.channels))

    @property
    def _bin_hz(self) -> float:
        return self._rate_hz / self._size

    @property
    def _band_hz(self) -> float:
        return BINS_A_BAND * self._bin_hz

    def _rarely_exceeded_db(self) -> Array:
        """What 99 of 100 windows stay under, in each narrow band."""
        return 10 * np.log10(np.maximum(self._rare(self._kept), 1e-30))

    def _rare(self, kept: NDArray[np.float32]) -> Array:
        """What 99 of 100 rows stay under, in each column."""
        rows = kept[: -(-self._loud // self._stride)]
        place = min(round(RARE * (len(rows) - 1)), len(rows) - 1)
        return np.partition(rows.T.copy(), place, axis=1)[:, place].astype(np.float64)


def _windows_apart(frames: int, size: int) -> int:
    """One window in so many is looked at; *frames* is 0 where the length is not known."""
    return min(max(frames // size // ENOUGH_WINDOWS, 1), MOST_APART) if frames else APART_UNKNOWN


def _pause(number: int, apart: int, size: int) -> int:
    """Frames between the end of window *number*, from 0, and the beginning of the next."""
    turn = GOLDEN if apart > 1 else 0.0
    begins, next_begins = (int(apart * (k + turn * k % 1) * size) for k in (number, number + 1))
    return next_begins - begins - size
