"""Peaks: of the samples, of the waveform between them, and where they are highest."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.dsp.blocks.series import Series
from delivery.dsp.loudness.k_weighting import step_ends
from delivery.dsp.peaks.between_samples import AT, CELLS_A_SECOND, CHANNEL, HEIGHT, look_again, scan
from delivery.dsp.peaks.interpolation import LONG_TAPS, PLACES, before, bounds, interpolators, long_interpolators
from delivery.dsp.peaks.peak_events import CEILINGS_DBTP, Places
from delivery.meters.meter import NO_SOUND, SILENT, Array, all_missing, planar
from delivery.meters.span_extremes import SpanExtremes
from delivery.model.figure import Figure, Reading, Subject

ANNEX_2 = "ITU-R BS.1770-5, Annex 2 (16 places for each sample)"
OVER = ("at_s", "channel", "dbtp")
FULL_SCALE = "AES17 (full scale)"
PLACE = "a place is 10 ms whose highest point is above that of the 10 ms before and behind, over all channels"
FLOOR_DB = -120.0
MANY_CELLS = 1000


class TruePeak:
    """Highest values of samples and of the waveform between them; each of its bounds is strict for the 16 places.

    The highest value in each 10 ms, and in each channel, is recomputed with a longer interpolator, which costs little
    beside the search.
    """

    subject = Subject.PEAKS
    method = (
        "The waveform is interpolated at 16 places for each sample wherever a bound shows that it could be "
        "highest; the "
        "highest point of each 10 ms is looked at again with 256 taps and between places. Over: above 0 "
        "dBTP. Places are "
        "ranked by height, the earlier of equal ones first."
    )
    shares = SpanExtremes
    gives = (
        Figure("sample_peak_dbfs", "dBFS", 2, "Highest sample of any channel.", FULL_SCALE),
        Figure("sample_peaks_dbfs", "dBFS", None, "Highest sample of each channel; -120 is silence.", FULL_SCALE),
        Figure(
            "true_peak_dbtp",
            "dBTP",
            2,
            "Highest point of the waveform between samples, all channels; at most 0.03 dB low up to 20 kHz.",
            ANNEX_2,
        ),
        Figure("true_peak_at_s", "s", 3, "Where the true peak is.", ANNEX_2),
        Figure("true_peaks_dbtp", "dBTP", None, "True peak of each channel; -120 is silence.", ANNEX_2),
        Figure(
            "peak_curve_dbtp",
            "dBTP",
            None,
            "True peak of each second, over all channels; -120 is silence.",
            ANNEX_2,
            along="curve_step_s",
        ),
        Figure("overs_count", "", 0, f"Separate places above 0 dBTP; {PLACE}.", ANNEX_2),
        Figure("overs", "", None, "The ten worst overs: time in s, channel, dBTP.", ANNEX_2, columns=OVER),
        Figure(
            "ceilings_dbtp", "dBTP", None, "Ceilings above which separate places are counted.", "a ladder of 0.1 dB"
        ),
        Figure(
            "places_above_ceilings",
            "",
            None,
            f"Separate places above each ceiling; {PLACE}.",
            ANNEX_2,
            along="ceilings_dbtp",
        ),
        Figure(
            "time_above_ceilings_s",
            "s",
            None,
            "Time above each ceiling: 0.01 s for each 10 ms in which the waveform is, in any channel.",
            ANNEX_2,
            along="ceilings_dbtp",
        ),
        Figure(
            "highest_places",
            "",
            None,
            "The ten highest separate places above the lowest ceiling: time in s, channel, dBTP.",
            ANNEX_2,
            columns=OVER,
        ),
    )

    def __init__(self, sound: SoundFacts, spans: SpanExtremes | None = None) -> None:
        self._spans = spans or SpanExtremes(sound)
        channels = sound.channels
        self._rate_hz = sound.rate_hz
        self._longest_cell = sound.rate_hz // CELLS_A_SECOND + 1
        self._rows = interpolators(sound.rate_hz)
        self._taps = self._rows.shape[1]
        self._bounds = bounds(self._taps)
        self._long = long_interpolators()
        self._margin = (LONG_TAPS - self._taps) // 2 + 1
        """Samples on either side that only the second pass needs: it searches half a sample around a maximum."""
        self._lead = before(self._taps) + 1
        """The interpolated waveform extends before the first sample; those intervals belong to the first cell."""
        self._waiting = np.zeros((channels, self._margin + self._taps - 1))
        self._peaks = np.zeros((channels, 2))
        self._summits = np.zeros((channels, 2))
        """HEIGHT and AT from the second pass; the search uses those of the first."""
        self._sample_peaks = np.zeros(channels)
        self._second = np.zeros(1)
        self._places = Places()
        self._curve = Series()
        self._cell_rows = Series(3)
        """Cells not yet passed to events and curve."""
        self._cells = self._scanned = self._frames = 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        samples = planar(block)
        np.maximum(self._sample_peaks, self._spans.of(block).peaks(), out=self._sample_peaks)
        self._frames += len(block)
        enough = self._longest_cell + self._taps + 2 * self._margin  # to close the waiting cell
        head = samples[:, :enough]
        joined = np.concatenate([self._waiting, head], axis=1)
        at = self._scan(joined, self._margin)
        if head.shape[1] == samples.shape[1]:
            self._waiting = joined[:, at:].copy()
        else:
            at -= self._waiting.shape[1]
            at += self._scan(samples, at + self._margin)
            self._waiting = samples[:, at:].copy()

    def _scan(self, samples: Array, begin: int) -> int:
        """Scan whole cells, so that the result does not depend on block boundaries; the rest waits.

        Returns the number of intervals scanned.
        """
        intervals = max(samples.shape[1] - begin - self._margin - self._taps + 1, 0)
        ends = step_ends(self._scanned - self._lead, intervals, self._rate_hz, CELLS_A_SECOND)
        return self._look(samples, begin, ends if self._scanned else ends[ends > self._lead])

    def _look(self, samples: Array, begin: int, ends: NDArray[np.int64]) -> int:
        if not len(ends):
            return 0
        cells, first = np.empty((len(ends), 3)), self._scanned - self._lead
        found = self._peaks, self._second, cells
        known = self._peaks[:, AT].copy()
        scan(samples, begin, first, self._cells, ends, self._rows, self._bounds, *found)
        self._look_again(samples, first - begin - before(self._taps), cells, self._peaks[:, AT] != known)
        self._scanned += int(ends[-1])
        self._cells += len(cells)
        self._cell_rows.append(cells)
        if len(self._cell_rows) > MANY_CELLS:
            self._tell()
        return int(ends[-1])

    def _look_again(self, samples: Array, origin: int, cells: Array, changed: NDArray[np.bool_]) -> None:
        channels = np.maximum(cells[:, CHANNEL].astype(np.int64) - 1, 0)
        look_again(samples, origin, cells, channels, self._long)
        if cells[:, HEIGHT].max() > self._summits[:, HEIGHT].min():  # rare once the loudest was heard
            self._raise_summits(cells, channels)
        if changed.any():
            own, tops = np.flatnonzero(changed), self._peaks[changed]
            look_again(samples, origin, tops, own, self._long)
            for channel, top in zip(own.tolist(), tops, strict=True):
                if top[HEIGHT] > self._summits[channel, HEIGHT]:
                    self._summits[channel] = top

    def _raise_summits(self, cells: Array, channels: NDArray[np.int64]) -> None:
        for channel, summit in enumerate(self._summits):
            heights = np.where(channels == channel, cells[:, HEIGHT], 0.0)
            highest = int(heights.argmax())
            if heights[highest] > summit[HEIGHT]:
                summit[:] = cells[highest, [HEIGHT, AT]]

    def _tell(self) -> None:
        """Pass on many cells at a time: events and seconds are few."""
        if not len(self._cell_rows):
            return
        cells, first = self._cell_rows.rows, self._cells - len(self._cell_rows)
        self._places.add(cells)
        seconds = np.arange(first, self._cells) // CELLS_A_SECOND
        self._curve.append(np.zeros(seconds[-1] + 1 - len(self._curve)))
        np.maximum.at(self._curve.rows, seconds, cells[:, HEIGHT])
        self._cell_rows = Series(3)

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if not self._frames:
            return all_missing(self.gives, NO_SOUND)
        behind = np.zeros((len(self._peaks), self._lead + self._margin))
        joined = np.concatenate([self._waiting, behind], axis=1)
        intervals = joined.shape[1] - 2 * self._margin - self._taps + 1
        whole = step_ends(self._scanned - self._lead, intervals, self._rate_hz, CELLS_A_SECOND)
        least = 0 if self._scanned else self._lead
        inner = whole[(whole > least) & (whole < self._frames - self._scanned + self._lead)]
        self._look(
            joined, self._margin, np.append(inner, intervals)
        )  # the interpolated waveform after the end belongs to the last cell
        self._tell()
        self._places.end()
        highest = tuple(
            (self._seconds(at), int(channel), _decibels(height)) for height, at, channel in self._places.highest
        )
        counts = self._places.counts.tolist()
        places = (
            Reading(counts[0]),
            Reading(tuple(place for place in highest if place[2] > 0)),
            Reading(CEILINGS_DBTP),
            Reading(tuple(counts)),
            Reading(tuple((self._places.cells_above / CELLS_A_SECOND).tolist())),
            Reading(highest),
        )
        peak, at = max(self._summits.tolist(), key=lambda found: (found[0], -found[1]))
        if not peak:
            return (*all_missing(self.gives[:6], SILENT), *places)
        return (
            Reading(_decibels(self._sample_peaks.max())),
            Reading(_levels(self._sample_peaks)),
            Reading(_decibels(peak)),
            Reading(self._seconds(at)),
            Reading(_levels(self._summits[:, HEIGHT])),
            Reading(_levels(self._curve.rows)),
            *places,
        )

    def _seconds(self, at: float) -> float:
        return max(at, 0.0) / PLACES / self._rate_hz


def _decibels(value: float) -> float:
    return 20 * float(np.log10(value))


def _levels(values: Array) -> tuple[float, ...]:
    floor = 10 ** (FLOOR_DB / 20)
    return tuple((20 * np.log10(np.maximum(values, floor))).tolist())
