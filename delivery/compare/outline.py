"""A sound in steps of half a second: octave levels, mid and side, peak and rms; and its sections. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from delivery.dsp.likeness.same_recording import STEP_S as GATING_STEP_S
from delivery.dsp.likeness.sections import boundaries
from delivery.dsp.loudness.gating import loudness_lufs
from delivery.dsp.spectrum.spectra import band_sums
from delivery.model.pair import Section, SectionLevels

Array = NDArray[np.float64]

STEP_S = 0.5
OCTAVES_HZ = tuple(31.5 * 2**k for k in range(10))
EDGES_HZ = np.array([(middle / 2**0.5, middle * 2**0.5) for middle in OCTAVES_HZ])
LOW_OCTAVES = 2
"""The lowest ones, 22 to 89 Hz, stand for the low end."""
FLOOR = 1e-12
DEEPEST = 1e-6
"""Of the highest octave level: what lies 60 dB below it does not tell sections apart."""
BLOCK_S = 0.4


class Outline:
    """Takes pieces in order; each but the last is a whole number of steps."""

    def __init__(self, rate_hz: int) -> None:
        self._step, self._bin_hz = round(STEP_S * rate_hz), rate_hz / round(STEP_S * rate_hz)
        self._rows: list[Array] = []

    def take(self, sound: Array) -> None:
        """The next (frames, channels); a rest shorter than a step is left out."""
        for at in range(0, len(sound) - self._step + 1, self._step):
            self._rows.append(self._row(sound[at : at + self._step]))

    def _row(self, sound: Array) -> Array:
        spectrum = np.fft.rfft(sound, axis=0)
        power = (spectrum.real**2 + spectrum.imag**2).sum(axis=1)
        power[0] = 0.0
        pair = sound if sound.shape[1] == 2 else sound[:, [0, 0]]
        mid, side = pair.sum(axis=1) / 2, (pair[:, 0] - pair[:, 1]) / 2
        rest = (float(mid @ mid), float(side @ side), float(np.abs(sound).max()), float(np.square(sound).mean()))
        return np.concatenate([band_sums(power[None], EDGES_HZ, self._bin_hz)[0], rest])

    @property
    def rows(self) -> Array:
        """(steps, octaves + 4): power of each octave, of mid, of side; peak; mean square."""
        return np.array(self._rows) if self._rows else np.zeros((0, len(OCTAVES_HZ) + 4))


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


def section_levels(rows: Array, gating_powers: Sequence[float], section: Section, late_s: float = 0.0) -> SectionLevels:
    """Levels of one section.

    Parameters
    ----------
    rows : of an Outline that begins where the section's times begin
    gating_powers : K-weighted mean squares of 0.4 s, every 0.1 s of the file
    late_s : how much later the outline begins in the file
    """
    steps = rows[round(section.start_s / STEP_S) : max(round(section.end_s / STEP_S), 1)]
    octaves, (mid, side, peak, square) = steps[:, : len(OCTAVES_HZ)].sum(axis=0), steps[:, len(OCTAVES_HZ) :].T
    first = max(0, round((section.start_s + late_s) / GATING_STEP_S))
    last = round((section.end_s + late_s - BLOCK_S) / GATING_STEP_S) + 1
    powers = np.asarray(gating_powers[first : max(last, first + 1)], np.float64)
    return SectionLevels(
        float(loudness_lufs(np.array(powers.mean() if len(powers) else 0.0))),
        _decibels(float(octaves[:LOW_OCTAVES].sum()), float(octaves.sum())),
        _decibels(float(side.sum()), float(mid.sum())) if side.any() else None,
        20 * float(np.log10(max(float(peak.max()), FLOOR) / max(float(square.mean()) ** 0.5, FLOOR))),
    )


def _decibels(part: float, whole: float) -> float:
    return 10 * float(np.log10(max(part, FLOOR) / max(whole, FLOOR)))
