"""Events to listen to: gaps in loud audio, of exact zeros or nearly silent."""

from __future__ import annotations

import numpy as np

from delivery.audio.facts import SoundFacts
from delivery.dsp.blocks.stretches import Lately
from delivery.dsp.events.gaps import AROUND_S, OPEN, STATE, Spells, is_gap, quiet_runs
from delivery.dsp.events.ranking import Place
from delivery.meters.meter import NO_SOUND, Array, all_missing, planar
from delivery.meters.places import figures, readings
from delivery.model.figure import Reading, Subject

PRACTICE = "common practice, no source; limits tuned on planted faults"
LEAST_ZEROS_S = 0.001
LEAST_GAP_S = 0.005
MOST_ZEROS_S, MOST_S = 0.100, 0.250
"""Longer ones are rests: music stops abruptly and begins again; where it is edited, with exact zeros."""
APART_S = 0.5
Gap = tuple[int, int, int, int]
"""Frame after it, channel, its frames, most exact zeros in a row. Gaps are judged in order of their ends."""


class Dropouts:
    """Passages below -50 dBFS, with audio above -38 dBFS within 40 ms on both sides.

    1 to 100 ms of which at least half are exact zeros are a run of zeros: no instrument makes them, but edits do, so at
    least one side must have no fade, and the audio must continue as before. Others count from 5 to 250 ms, if the audio
    stops abruptly before them. Each channel by itself; events within half a second are one.
    """

    subject = Subject.LISTEN
    least_rate_hz = 1000
    gives = (
        *figures("dropout", "gaps of 5 to 250 ms in loud sound, under -50 dBFS", "length_ms", PRACTICE),
        *figures("zero_run", "1 to 100 ms of exact zeros in loud sound", "length_ms", PRACTICE),
    )

    def __init__(self, sound: SoundFacts) -> None:
        rate_hz = self._rate_hz = sound.rate_hz
        self._least = max(round(LEAST_ZEROS_S * rate_hz), 4)
        self._least_gap, self._most = round(LEAST_GAP_S * rate_hz), round(MOST_S * rate_hz)
        self._most_zeros, self._around = round(MOST_ZEROS_S * rate_hz), round(AROUND_S * rate_hz)
        self._lately = Lately(3 * self._around + self._most)
        self._state = np.zeros((sound.channels, STATE), np.int64)
        self._state[:, OPEN] = -1
        self._waiting: list[Gap] = []
        self._gaps, self._zeros = (Spells(round(APART_S * rate_hz)) for _ in range(2))
        self._frames = 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        samples = planar(block)
        self._lately.append(samples)
        found = np.empty((len(samples) * (len(block) // self._least + 1), 4), np.int64)
        written = quiet_runs(samples, self._frames, self._state, self._least, found)
        self._frames += len(block)
        if written:
            self._waiting += [tuple(row) for row in found[:written].tolist()]
        if self._waiting:
            self._judge_ready()

    def _judge_ready(self) -> None:
        """Judge gaps with enough audio after them."""
        ready = [gap for gap in self._waiting if gap[0] + self._around <= self._frames]
        self._waiting = [gap for gap in self._waiting if gap[0] + self._around > self._frames]
        for gap in sorted(ready):
            self._judge(*gap)

    def _judge(self, end: int, channel: int, frames: int, zeros: int) -> None:
        of_zeros = zeros >= self._least and 2 * zeros >= frames
        least, most = (self._least, self._most_zeros) if of_zeros else (self._least_gap, self._most)
        if not least <= frames <= most:
            return
        x = self._lately.channel(channel, end - frames - self._around, end + self._around)
        if x is not None and is_gap(x, self._around, self._rate_hz, of_zeros):
            list_ = self._zeros if of_zeros else self._gaps
            list_.add(Place(end - frames, channel + 1, 1000 * frames / self._rate_hz))

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if not self._frames:
            return all_missing(self.gives, NO_SOUND)
        lists = (self._gaps, self._zeros)
        return tuple(reading for list_ in lists for reading in readings(list_, self._frames, self._rate_hz))
