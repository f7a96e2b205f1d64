"""Peaks: of the samples, of the waveform between them, and the places where it goes above full scale."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from delivery.audio.facts import SoundFacts
from delivery.dsp.interpolation import BEFORE, PLACES, TAPS, greatest_gain, interpolators
from delivery.dsp.peaks import scan, widen
from delivery.measure.meter import NO_SOUND, SILENT, Array, all_missing, planar
from delivery.model.figure import Figure, Reading, Subject

ANNEX_2 = "ITU-R BS.1770-5, Annex 2 (16 places for each sample)"
APART_S = 0.010
WORST = 10

Over = tuple[int, int, float]
"""Place in sixteenths of a sample, channel from 1, height re full scale."""


class TruePeak:
    """Highest values of samples and of the waveform between them, over all channels."""

    subject = Subject.PEAKS
    gives = (
        Figure("sample_peak_dbfs", "dBFS", 2, "Highest sample of any channel.", "AES17 (full scale)"),
        Figure(
            "true_peak_dbtp",
            "dBTP",
            2,
            "Highest point of the waveform between samples, all channels; at most 0.05 dB low up to 20 kHz.",
            ANNEX_2,
        ),
        Figure("true_peak_at_s", "s", 3, "Where the true peak is.", ANNEX_2),
        Figure(
            "overs_count",
            "",
            0,
            "Separate places above 0 dBTP; overs of any channel less than 10 ms apart are one place.",
            ANNEX_2,
        ),
        Figure("overs", "", None, "The ten worst overs: time in s, channel, dBTP.", ANNEX_2),
    )

    def __init__(self, sound: SoundFacts) -> None:
        channels = sound.channels
        self._rate_hz = sound.rate_hz
        self._rows = interpolators()
        self._gain = greatest_gain(self._rows)
        self._buffer = np.zeros((channels, TAPS - 1))
        self._over_at, self._over = np.empty((channels, 0), np.int64), np.empty((channels, 0))
        self._peaks: list[tuple[float, int]] = [(0.0, 0)] * channels
        self._sample_peaks = np.zeros(channels)
        self._frames = 0
        self._overs = Overs(round(APART_S * sound.rate_hz * PLACES))

    def update(self, block: Array) -> None:
        samples = planar(block)
        widen(samples, self._sample_peaks)
        self._scan(samples)
        self._frames += len(block)

    def _scan(self, samples: Array) -> None:
        channels, frames = samples.shape
        if self._buffer.shape[1] != TAPS - 1 + frames:
            carried = self._buffer[:, self._buffer.shape[1] - TAPS + 1 :]
            self._buffer = np.concatenate([carried, samples], axis=1)
            self._over_at, self._over = np.empty((channels, frames), np.int64), np.empty((channels, frames))
        else:
            self._buffer[:, : TAPS - 1] = self._buffer[:, -TAPS + 1 :].copy()
            self._buffer[:, TAPS - 1 :] = samples
        found: list[Over] = []
        for c in range(channels):
            found += self._scan_channel(c)
        self._overs.add(sorted(found))

    def _scan_channel(self, c: int) -> Iterator[Over]:
        at, height = self._over_at[c], self._over[c]
        first = self._frames - BEFORE - 1
        peak, peak_at, count = scan(self._buffer[c], first, self._rows, self._gain, *self._peaks[c], at, height)
        self._peaks[c] = peak, peak_at
        return zip(at[:count].tolist(), [c + 1] * count, height[:count].tolist(), strict=True)

    def result(self) -> tuple[Reading, ...]:
        if not self._frames:
            return all_missing(self.gives, NO_SOUND)
        self._scan(np.zeros((len(self._peaks), BEFORE + 1)))
        peak, at = max(self._peaks, key=lambda found: (found[0], -found[1]))
        overs = (Reading(self._overs.count), Reading(tuple(self._told(over) for over in self._overs.worst)))
        if not peak:
            return (*all_missing(self.gives[:3], SILENT), *overs)
        sample_peak = Reading(_decibels(self._sample_peaks.max()))
        return sample_peak, Reading(_decibels(peak)), Reading(self._seconds(at)), *overs

    def _told(self, over: Over) -> tuple[float, int, float]:
        at, channel, height = over
        return self._seconds(at), channel, _decibels(height)

    def _seconds(self, at: int) -> float:
        return max(at, 0) / PLACES / self._rate_hz


class Overs:
    """Runs of overs, each kept as its highest point; only the worst are remembered."""

    def __init__(self, apart: int) -> None:
        self._apart = apart
        self._closed: list[Over] = []
        self._open: Over | None = None
        self._last = 0
        self.count = 0

    def add(self, found: Iterable[Over]) -> None:
        """Take overs in order of time."""
        for over in found:
            if self._open is None or over[0] - self._last >= self._apart:
                self._close()
                self._open = over
                self.count += 1
            elif over[2] > self._open[2]:
                self._open = over
            self._last = over[0]

    def _close(self) -> None:
        if self._open is not None:
            self._closed = sorted([*self._closed, self._open], key=lambda over: (-over[2], over[0]))[:WORST]

    @property
    def worst(self) -> list[Over]:
        """The ten highest, in order of time."""
        kept = [*self._closed, self._open] if self._open else self._closed
        return sorted(sorted(kept, key=lambda over: (-over[2], over[0]))[:WORST])


def _decibels(value: float) -> float:
    return 20 * float(np.log10(value))
