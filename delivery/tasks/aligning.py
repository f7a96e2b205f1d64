"""Where two files run together, from windows of both spread over the time that they share."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from delivery.audio.forward import forward
from delivery.compare.pair import Shared
from delivery.dsp.likeness.alignment import Alignment, Lag, aligned, fitted_gain_db, lag_of
from delivery.dsp.likeness.same_recording import STEP_S
from delivery.dsp.likeness.shifting import REACH, low_passed, low_passed_along
from delivery.model.figure import Measurement

Array = NDArray[np.float64]

WINDOWS = 24
FIRST_WINDOWS = 6
"""Looked at with the whole margin; the others only about the line through these."""
WINDOW_S = 0.66
MARGIN_S = 0.3
"""How far the loudness over time may be wrong about the offset."""
FINE_WINDOW_S = 0.33
"""Once the place is known: with the margin below, a window takes 2**14 frames at 44.1 and 48 kHz."""
NEAR_S = 0.005
"""How far a window may lie from the line through the first ones."""
ROUGH_HZ, FINE_HZ = 40_000, 80_000
"""Windows of higher rates are thinned: to find delays to the frame, and fractions of a frame."""
SILENT = "too silent to be compared"
UNLIKE = "their waveforms do not agree: another take, another mix or another song"


@dataclass(frozen=True, slots=True)
class File:
    """One of the two, measured."""

    path: Path
    rate_hz: int
    frames: int
    channels: int
    measurement: Measurement

    @property
    def seconds(self) -> float:
        """Its length."""
        return self.frames / self.rate_hz


def alignment(a: File, b: File, shared: Shared) -> Alignment | str:
    """The line through the delays, in frames of the common rate; a sentence where there is none.

    The first windows are looked at with a wide margin; all of them then along the line through these, at its clock: a
    clock difference of 100 ppm would move the ends of a window apart by several frames.
    """
    rate_hz = min(a.rate_hz, b.rate_hz)
    level = Alignment((shared.other_s - shared.one_s) * rate_hz, 0.0, 0.0, 0.0, ())
    starts = [round(at_s * rate_hz) for at_s in _places(a.measurement, shared)]
    first = starts[:: max(len(starts) // FIRST_WINDOWS, 1)]
    roughly = aligned(*_lags(_windows(a, b, first, level, WINDOW_S, MARGIN_S, ROUGH_HZ)))
    if roughly is None:
        places, lags = _lags(_windows(a, b, starts, level, WINDOW_S, MARGIN_S, ROUGH_HZ))
        if not any(lags):
            return SILENT
        roughly = aligned(places, lags)
    if roughly is None:
        return UNLIKE
    windows = list(_windows(a, b, starts, roughly, FINE_WINDOW_S, NEAR_S, FINE_HZ))
    places, lags = _lags(windows)
    found = aligned(places, lags)
    if found is None:
        return UNLIKE
    return replace(found, gain_db=fitted_gain_db([window.both(found) for window in windows]))


class _Window(NamedTuple):
    """A piece of the first file from *start* on, and of the second along *line*, longer by two margins."""

    start: int
    line: Alignment
    every: int
    """Frames of the files for each one here."""
    margin: int
    mine: Array
    theirs: Array

    @property
    def middle(self) -> float:
        """Frame of the first file."""
        return self.start + len(self.mine) * self.every / 2

    def both(self, found: Alignment) -> tuple[Array, Array]:
        """The two pieces laid over each other."""
        moved = (found.delay_at(self.middle) - self.line.delay_at(self.middle)) / self.every
        frames = len(self.mine) - 2 * REACH
        mine = low_passed(self.mine, REACH, frames, 1)
        return mine, low_passed(self.theirs, self.margin + REACH + moved, frames, 1)


def _windows(
    a: File, b: File, starts: Sequence[int], line: Alignment, length_s: float, margin_s: float, most_hz: int
) -> Iterator[_Window]:
    rate_hz, channels = min(a.rate_hz, b.rate_hz), min(a.channels, b.channels)
    every = 4 if rate_hz > 2 * most_hz else 2 if rate_hz > most_hz else 1
    frames, margin = (round(part_s * rate_hz) // every * every for part_s in (length_s, margin_s))
    spare = REACH + 2
    with forward(a.path, rate_hz) as one, forward(b.path, rate_hz) as other:
        for start in starts:
            place = start - margin + line.delay_at(start - margin)
            begins, wide = int(place) - spare, int((frames + 2 * margin) * (1 + abs(line.drift))) + 2 * spare
            mine = fewer(one.read(start - spare, frames + 2 * spare), channels)
            theirs = fewer(other.read(begins, wide), channels)
            wanted = frames + 2 * margin
            yield _Window(
                start,
                line,
                every,
                margin // every,
                low_passed(mine, spare, frames, every),
                low_passed_along(theirs, place - begins, wanted, every, line.drift)
                if line.drift
                else low_passed(theirs, place - begins, wanted, every),
            )


def _lags(windows: Iterable[_Window]) -> tuple[list[float], list[Lag | None]]:
    """Middle of each window, and its delay in frames of the files."""
    places: list[float] = []
    lags: list[Lag | None] = []
    for window in windows:
        lag = lag_of(window.mine, window.theirs, window.margin)
        expected = window.line.delay_at(window.middle)
        places.append(window.middle)
        lags.append(replace(lag, delay_frames=lag.delay_frames * window.every + expected) if lag else None)
    return places, lags


def fewer(sound: Array, channels: int) -> Array:
    """As many channels as both files have; a mono file is compared with the mean of the other's channels."""
    if sound.shape[1] == channels:
        return sound
    return sound.mean(axis=1, keepdims=True) if channels == 1 else sound[:, :channels]


def _places(measurement: Measurement, shared: Shared) -> list[float]:
    """Where windows begin in the first file: the loudest place of each of so many equal pieces of the shared part."""
    powers = np.array(measurement.value("gating_powers"))
    first_s, last_s = shared.one_s + MARGIN_S, shared.one_s + shared.length_s - WINDOW_S - MARGIN_S
    count = max(2, min(WINDOWS, int((last_s - first_s) / WINDOW_S)))
    edges_s = np.linspace(first_s, max(last_s, first_s + 0.2), count + 1)
    found = []
    for start_s, end_s in pairwise(edges_s.tolist()):
        steps = powers[round(start_s / STEP_S) : max(round(end_s / STEP_S), round(start_s / STEP_S) + 1)]
        found.append(start_s + (int(np.argmax(steps)) * STEP_S if len(steps) else 0.0))
    return found
