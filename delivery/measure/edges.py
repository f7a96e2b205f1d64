"""Tops and tails, and silence in between."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.dsp.silence import FIRST, LAST, PAUSE, PAUSE_AT, PLACES, find_pauses
from delivery.measure.meter import NO_SOUND, SILENT, Array, all_missing, planar
from delivery.model.figure import Figure, Reading, Subject

PRACTICE = "common practice, no source"
SILENCE_DBFS = -60.0
THRESHOLD = 10 ** (SILENCE_DBFS / 20)
EDGE_S = 0.010
LEAST_PAUSE_S = 0.1


class Edges:
    """Silence is where no sample of any channel is above -60 dBFS."""

    subject = Subject.EDGES
    gives = (
        Figure("lead_in_s", "s", 3, "Silence (below -60 dBFS) before the first sound.", PRACTICE),
        Figure("tail_s", "s", 3, "Silence (below -60 dBFS) after the last sound.", PRACTICE),
        Figure("inner_silence_longest_s", "s", 2, "Longest silence between sounds; under 0.1 s counts as 0.", PRACTICE),
        Figure("inner_silence_at_s", "s", 2, "Where the longest inner silence begins.", PRACTICE),
        Figure("starts_cut", "", None, "The first 10 ms are louder than -60 dBFS rms in some channel.", PRACTICE),
        Figure("ends_cut", "", None, "The last 10 ms are louder than -60 dBFS rms in some channel.", PRACTICE),
        Figure("zero_head_s", "s", 3, "Exact zeros in every channel at the beginning.", PRACTICE),
        Figure("zero_tail_s", "s", 3, "Exact zeros in every channel at the end.", PRACTICE),
    )

    def __init__(self, sound: SoundFacts) -> None:
        self._rate_hz = sound.rate_hz
        self._sounds = np.array([-1, -1, 0, 0])
        self._samples = np.array([-1, -1, 0, 0])
        assert len(self._sounds) == PLACES
        self._edge = max(round(EDGE_S * sound.rate_hz), 1)
        self._head = np.zeros((sound.channels, 0))
        self._last = np.zeros((sound.channels, 0))
        self._frames = 0

    def update(self, block: Array) -> None:
        x = planar(block)
        find_pauses(x, self._frames, THRESHOLD, self._sounds)
        find_pauses(x, self._frames, 0.0, self._samples)
        if self._head.shape[1] < self._edge:
            self._head = np.concatenate([self._head, x], axis=1)[:, : self._edge]
        self._last = np.concatenate([self._last, x[:, -self._edge :]], axis=1)[:, -self._edge :]
        self._frames += len(block)

    def result(self) -> tuple[Reading, ...]:
        if not self._frames:
            return all_missing(self.gives, NO_SOUND)
        zeros = self._outside(self._samples)
        if self._sounds[FIRST] < 0:
            return (*all_missing(self.gives[:6], SILENT), *zeros)
        cuts = Reading(_louder(self._head)), Reading(_louder(self._last))
        return (*self._outside(self._sounds), *self._pause(), *cuts, *zeros)

    def _outside(self, found: NDArray[np.int64]) -> tuple[Reading, Reading]:
        if found[FIRST] < 0:
            return Reading(self._frames / self._rate_hz), Reading(self._frames / self._rate_hz)
        head, tail = int(found[FIRST]), self._frames - 1 - int(found[LAST])
        return Reading(head / self._rate_hz), Reading(tail / self._rate_hz)

    def _pause(self) -> tuple[Reading, Reading]:
        pause_s = int(self._sounds[PAUSE]) / self._rate_hz
        if pause_s < LEAST_PAUSE_S:
            return Reading(0.0), Reading.missing("no silence inside")
        return Reading(pause_s), Reading(int(self._sounds[PAUSE_AT]) / self._rate_hz)


def _louder(edge: Array) -> bool:
    return bool((np.mean(edge**2, axis=1) > THRESHOLD**2).any())
