"""A sound in steps of half a second: octave levels, mid and side, peak and rms; its hits and its sections. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from delivery.compare.hits import BANDS_HZ, Envelope, attacks_db, strongest_hits
from delivery.dsp.likeness.same_recording import STEP_S as GATING_STEP_S
from delivery.dsp.likeness.sections import boundaries
from delivery.dsp.loudness.gating import loudness_lufs
from delivery.dsp.peaks.extremes import largest
from delivery.dsp.spectrum.decimation import Decimator
from delivery.dsp.spectrum.short_spectra import ShortSpectra
from delivery.dsp.spectrum.spectra import band_sums, hann
from delivery.dsp.stereo.pairs import DIFFERENCE, LEFT, RIGHT, SUM, SUMS, pair_sums
from delivery.model.figure import Measurement
from delivery.model.sections import Section, SectionLevels

Array = NDArray[np.float64]

STEP_S = 0.5
OCTAVES_HZ = tuple(31.5 * 2**k for k in range(10))
LOW_OCTAVES = 2
"""The lowest ones, 22 to 89 Hz, stand for the low end; they are read from a decimated copy."""
EDGES_HZ = np.array([(middle / 2**0.5, middle * 2**0.5) for middle in OCTAVES_HZ])
FLOOR = 1e-12
DEEPEST = 1e-6
"""Of the highest octave level: what lies 60 dB below it does not distinguish sections."""
BLOCK_S = 0.4
WINDOW_S = 3
"""PSR: true peak and loudness of the same 3 s, one window each second."""
LOW_SHARE = 0.05


@dataclass(frozen=True, slots=True)
class Outline:
    """Of a whole sound."""

    rows: Array
    """(steps, octaves + 4): mean square of each octave, of mid, of side; peak; mean square of all channels."""
    envelope: Envelope
    """Band powers every 10 ms or so."""
    lows: NDArray[np.floating]
    """(channels, n), decimated to ``low_rate_hz``."""
    low_rate_hz: float


class Outlining:
    """Takes pieces in order; each but the last is a whole number of steps.

    Parameters
    ----------
    rate_hz, channels : of the sound
    """

    def __init__(self, rate_hz: int, channels: int) -> None:
        self._step = round(STEP_S * rate_hz)
        self._rows: list[tuple[float, float, float, float]] = []
        self._decimators = [Decimator(1, rate_hz) for _ in range(channels)]
        self._lows = [[np.zeros(0, np.float32)] for _ in range(channels)]
        self._spectra = ShortSpectra(rate_hz, np.concatenate([EDGES_HZ[LOW_OCTAVES:], BANDS_HZ]))

    def take(self, sound: Array) -> None:
        """The next (frames, channels); a rest shorter than a step is left out. Fastest with contiguous channels."""
        channels = [np.ascontiguousarray(channel) for channel in sound.T]  # of a part: each, but not all of them
        for at in range(0, len(sound) - self._step + 1, self._step):
            self._rows.append(_step_row([channel[at : at + self._step] for channel in channels]))
        for channel, decimator, lows in zip(channels, self._decimators, self._lows, strict=True):
            lows.append(decimator.take(channel[None])[0])
        self._spectra.take(channels)

    def result(self) -> Outline:
        """Of all pieces so far."""
        powers = self._spectra.powers
        envelope = Envelope(self._spectra.hop_s, powers[:, len(OCTAVES_HZ) - LOW_OCTAVES :])
        lows, low_rate_hz = np.array([np.concatenate(own) for own in self._lows]), self._decimators[0].rate_hz
        if not self._rows:
            return Outline(np.zeros((0, len(OCTAVES_HZ) + 4)), envelope, lows, low_rate_hz)
        steps = len(self._rows)
        high = self._spectra.in_steps(STEP_S, steps)[:, : len(OCTAVES_HZ) - LOW_OCTAVES]
        rows = np.concatenate([self._low_octaves(lows, low_rate_hz, steps), high, np.array(self._rows)], axis=1)
        return Outline(rows, envelope, lows, low_rate_hz)

    def _low_octaves(self, lows: NDArray[np.floating], rate_hz: float, steps: int) -> Array:
        """(steps, LOW_OCTAVES), mean of the channels."""
        size = int(STEP_S * rate_hz)
        starts = np.minimum((np.arange(steps) * STEP_S * rate_hz).astype(np.int64), max(lows.shape[1] - size, 0))
        if lows.shape[1] < size:
            return np.zeros((steps, LOW_OCTAVES))
        windows = np.lib.stride_tricks.sliding_window_view(lows, size, axis=1)[:, starts]
        spectra = np.fft.rfft(windows * hann(size), axis=2)
        power = (spectra.real**2 + spectra.imag**2).mean(axis=0) * 2 / size**2
        power /= self._decimators[0].response(np.arange(size // 2 + 1) * rate_hz / size).clip(1e-3)
        return np.asarray(band_sums(power, EDGES_HZ[:LOW_OCTAVES], rate_hz / size))


def _step_row(channels: Sequence[Array]) -> tuple[float, float, float, float]:
    """Mean square of mid and of side, peak, mean square of all channels."""
    frames = len(channels[0])
    left, right = channels[0], channels[1 if len(channels) == 2 else 0]
    sums = np.zeros((1, SUMS))
    pair_sums(left, right, np.array([frames], np.int64), np.zeros(SUMS), sums)
    squares, mid, side = sums[0, [LEFT, RIGHT]], sums[0, SUM] / 4, sums[0, DIFFERENCE] / 4
    if len(channels) > 2:  # a product of the linear-algebra library would start threads
        squares = np.array([np.einsum("i,i", channel, channel) for channel in channels])
    peak = max(largest(channel) for channel in channels)
    return mid / frames, side / frames, peak, float(squares.mean()) / frames


def found_sections(rows: Array) -> tuple[Section, ...]:
    """Sections by level and timbre, numbered; empty where the sound is too short to have any."""
    if not len(rows):
        return ()
    octaves = rows[:, : len(OCTAVES_HZ)]
    audible = np.maximum(octaves, max(DEEPEST * float(octaves.max()), FLOOR))
    edges = (0.0, *boundaries(10 * np.log10(audible), STEP_S), len(rows) * STEP_S)
    if len(edges) < 3:
        return ()
    spans = pairwise(edges)
    return tuple(Section(f"section {number}", start_s, end_s) for number, (start_s, end_s) in enumerate(spans, 1))


def section_levels(
    outline: Outline,
    measurement: Measurement,
    sections: Sequence[Section],
    late_s: float = 0.0,
    hits_of: Outline | None = None,
) -> tuple[SectionLevels, ...]:
    """Levels of each section.

    Parameters
    ----------
    outline : of sound that begins where the sections' times begin
    measurement : of the file
    late_s : how much later the outline begins in the file
    hits_of : the outline whose strongest hits are looked at, aligned with this one; None: this one's own
    """
    rows, rises = outline.rows, outline.envelope.rises_db()
    hits = strongest_hits((hits_of or outline).envelope, sections)
    return tuple(
        SectionLevels(
            _loudness(measurement, section, late_s),
            *_levels(rows, section),
            psr_db=_psr_db(measurement, section, late_s),
            attack_db=attacks_db(rises, own),
        )
        for section, own in zip(sections, hits, strict=True)
    )


def _levels(rows: Array, section: Section) -> tuple[float, float | None, float]:
    """Low end, side over mid, crest."""
    first = min(round(section.start_s / STEP_S), len(rows) - 1)
    steps = rows[first : max(round(section.end_s / STEP_S), first + 1)]
    octaves, (mid, side, peak, square) = steps[:, : len(OCTAVES_HZ)].sum(axis=0), steps[:, len(OCTAVES_HZ) :].T
    low_end_db = min(_decibels(float(octaves[:LOW_OCTAVES].sum()), float(square.sum())), 0.0)
    side_mid_db = _decibels(float(side.sum()), float(mid.sum())) if side.sum() > FLOOR * mid.sum() else None
    rms = max(float(square.mean()) ** 0.5, FLOOR)
    return low_end_db, side_mid_db, 20 * float(np.log10(max(float(peak.max()), FLOOR) / rms))


def _loudness(measurement: Measurement, section: Section, late_s: float) -> float:
    """K-weighted, from the blocks of 0.4 s that lie in the section."""
    first = max(0, round((section.start_s + late_s) / GATING_STEP_S))
    last = round((section.end_s + late_s - BLOCK_S) / GATING_STEP_S) + 1
    powers = np.asarray(measurement.value("gating_powers")[first : max(last, first + 1)], np.float64)
    return float(loudness_lufs(np.array(powers.mean() if len(powers) else 0.0)))


def _psr_db(measurement: Measurement, section: Section, late_s: float) -> float | None:
    """The 5th percentile of windows of 3 s within the section; None if it has none, or only silence."""
    peaks, loudness = (measurement.value(name) for name in ("peak_curve_dbtp", "short_term_curve_lufs"))
    if peaks is None or loudness is None:
        return None
    first, last = int(np.ceil(section.start_s + late_s)), int(section.end_s + late_s) - WINDOW_S
    ratios = [
        max(peaks[at : at + WINDOW_S]) - loudness[at]
        for at in range(max(first, 0), min(last + 1, len(loudness)))
        if loudness[at] > -70
    ]
    return float(np.sort(ratios)[int((len(ratios) - 1) * LOW_SHARE + 0.5)]) if ratios else None


def _decibels(part: float, whole: float) -> float:
    return 10 * float(np.log10(max(part, FLOOR) / max(whole, FLOOR)))
