"""Start and end of the audio, and silence in between."""

from __future__ import annotations

from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.dsp.blocks.stretches import Lately
from delivery.dsp.events.silence import BEFORE, BEHIND, FIRST, LAST, PAUSE, PAUSE_AT, PLACES, find_pauses
from delivery.meters.meter import NO_SOUND, SILENT, Array, all_missing, planar
from delivery.model.figure import Figure, Reading, Subject

PRACTICE = "common practice, no source"
SILENCE_DBFS = -60.0
THRESHOLD = 10 ** (SILENCE_DBFS / 20)
EDGE_S = 0.010
LEAST_PAUSE_S = 0.1
LISTED_PAUSE_S = 0.5
KEPT_PAUSES = 20
LEAST_FLOOR_S = 0.02
FADE_S = 0.050
BEFORE_FADE_S = 1.0
CUT_DBFS = -50.0
"""An abrupt end at this RMS level is audible; below it, beside music at usual levels, hardly."""
CLOSING_DB, LAST_S = 12.0, 0.001
EARLIER_DB, EARLIER_S = 9.0, 0.250
"""A fade of 0.15 s or more that reaches silence with the last sample is no cut. A straight one falls by 18 dB from the
first to the last of the five stretches of 10 ms at the end, and its last millisecond by another 20 dB; one of 0.2 s has
fallen by 13 dB before that. A shorter one is heard as a stop."""
CUT_STEP = 0.005
CUT_STEP_OVER_RMS = 0.25
"""A first sample as high as this relative to the next 10 ms is in the middle of a sound. For an attack trimmed to its
beginning it is far lower, and the attack masks the rest."""
FADED_DBFS = -70.0
FALLING_DB = 3.0
"""A smaller decline is steady noise of a room or tape, not a fade."""
FAINTEST = 1e-20
"""Mean square that counts as digital silence: less than any 32-bit sample can represent."""
DIGITAL_SILENCE = "digital silence"


class Edges:
    """Silence is where no sample of any channel is above -60 dBFS."""

    subject = Subject.EDGES
    method = (
        f"Silence: no sample of any channel above {SILENCE_DBFS:.0f} dBFS. Cut end: rms of the last 10 ms of some "
        f"channel above {CUT_DBFS:.0f} dBFS, unless a fade closes there: {CLOSING_DB:.0f} dB below the 10 ms that end "
        f"40 ms before, these {EARLIER_DB:.0f} dB below the 50 ms that begin {EARLIER_S:g} s before the end, and the "
        f"last millisecond {CLOSING_DB:.0f} dB below the last 10. Unfinished fade: neither cut nor closed, but rms of "
        f"the last 10 and 50 ms of some channel above {FADED_DBFS:.0f} dBFS."
    )
    gives = (
        Figure("lead_in_s", "s", 3, "Silence (below -60 dBFS) before the first sound.", PRACTICE),
        Figure("tail_s", "s", 3, "Silence (below -60 dBFS) after the last sound.", PRACTICE),
        Figure("inner_silence_longest_s", "s", 2, "Longest silence between sounds; under 0.1 s counts as 0.", PRACTICE),
        Figure("inner_silence_at_s", "s", 2, "Where the longest inner silence begins.", PRACTICE),
        Figure(
            "inner_silences",
            "",
            None,
            "The twenty longest silences between sounds of 0.5 s or more: start and length in s.",
            PRACTICE,
            columns=("at_s", "length_s"),
        ),
        Figure("inner_silence_count", "", 0, "Silences of 0.5 s or more between sounds.", PRACTICE),
        Figure(
            "lead_in_dbfs", "dBFS", 1, "Rms of the silence before the first sound: the noise floor there.", PRACTICE
        ),
        Figure("tail_dbfs", "dBFS", 1, "Rms of the silence after the last sound: the noise floor there.", PRACTICE),
        Figure(
            "starts_cut",
            "",
            None,
            "The first sample of some channel is at least 0.5 % of full scale and a quarter of the rms of the first "
            "10 ms: the sound begins in its middle. A trimmed attack begins near zero.",
            PRACTICE,
        ),
        Figure(
            "ends_cut",
            "",
            None,
            "The last 10 ms are louder than -50 dBFS rms in some channel, and no fade brings them to silence.",
            PRACTICE,
        ),
        Figure("last_10_ms_dbfs", "dBFS", 1, "Rms of the last 10 ms, of the loudest channel.", PRACTICE),
        Figure("last_50_ms_dbfs", "dBFS", 1, "Rms of the last 50 ms, of the loudest channel.", PRACTICE),
        Figure(
            "fade_unfinished",
            "",
            None,
            "The end is not cut, but its last 10 ms and last 50 ms are louder than -70 dBFS rms in some channel, and "
            "the second before was louder by 3 dB or more. Steady noise is no fade.",
            PRACTICE,
        ),
        Figure("first_sample_percent", "%", 3, "Height of the first sample: the step the file begins with.", PRACTICE),
        Figure("last_sample_percent", "%", 3, "Height of the last sample: the step the file ends with.", PRACTICE),
        Figure("zero_head_s", "s", 3, "Exact zeros in every channel at the beginning.", PRACTICE),
        Figure("zero_tail_s", "s", 3, "Exact zeros in every channel at the end.", PRACTICE),
    )

    def __init__(self, sound: SoundFacts) -> None:
        self._rate_hz = sound.rate_hz
        self._sounds, self._samples = np.array([-1, -1, 0, 0]), np.array([-1, -1, 0, 0])
        assert len(self._sounds) == PLACES
        self._pauses, self._no_pauses = np.zeros((KEPT_PAUSES, 2), np.int64), np.zeros((1, 2), np.int64)
        self._energies, self._no_energies = np.zeros(2), np.zeros(2)
        self._least_pause = max(round(LISTED_PAUSE_S * sound.rate_hz), 1)
        self._edge, self._fade, self._kept = (
            max(round(seconds * sound.rate_hz), 1) for seconds in (EDGE_S, FADE_S, FADE_S + BEFORE_FADE_S)
        )
        self._head = np.zeros((sound.channels, 0))
        self._lately = Lately(self._kept)
        self._pause_count = self._frames = 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        x = planar(block)
        least, first = self._least_pause, self._frames
        self._pause_count += find_pauses(x, first, THRESHOLD, least, self._sounds, self._pauses, self._energies)
        find_pauses(x, first, 0.0, least, self._samples, self._no_pauses, self._no_energies)
        if self._head.shape[1] < self._edge:
            self._head = np.concatenate([self._head, x[:, : self._edge]], axis=1)[:, : self._edge]
        self._lately.append(x)
        self._frames += len(block)

    @cached_property
    def _last(self) -> Array:
        """The last 1.05 s of all channels; all of a shorter file. Only after the last block."""
        return self._lately.latest(self._kept)

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if not self._frames:
            return all_missing(self.gives, NO_SOUND)
        zeros = self._outside(self._samples)
        if self._sounds[FIRST] < 0:
            return (*all_missing(self.gives[:-2], SILENT), *zeros)
        loud = _rms(self._last[:, -self._edge :]) > _height(CUT_DBFS)
        cuts = Reading(_starts_inside(self._head)), Reading(loud and not self._closes)
        around = self._outside(self._sounds)
        floors = (self._floor(around[0].value, BEFORE), self._floor(around[1].value, BEHIND))
        return (*around, *self._longest(), *self._listed(), *floors, *cuts, *self._end(cuts[1].value), *zeros)

    def _outside(self, found: NDArray[np.int64]) -> tuple[Reading, Reading]:
        if found[FIRST] < 0:
            return Reading(self._frames / self._rate_hz), Reading(self._frames / self._rate_hz)
        head, tail = int(found[FIRST]), self._frames - 1 - int(found[LAST])
        return Reading(head / self._rate_hz), Reading(tail / self._rate_hz)

    def _longest(self) -> tuple[Reading, Reading]:
        pause_s = int(self._sounds[PAUSE]) / self._rate_hz
        if pause_s < LEAST_PAUSE_S:
            return Reading(0.0), Reading.missing("no silence inside")
        return Reading(pause_s), Reading(int(self._sounds[PAUSE_AT]) / self._rate_hz)

    def _listed(self) -> tuple[Reading, Reading]:
        rows = [(begins, length) for length, begins in self._pauses.tolist() if length]
        places = tuple((begins / self._rate_hz, length / self._rate_hz) for begins, length in sorted(rows))
        return Reading(places), Reading(self._pause_count)

    def _floor(self, length_s: float, side: int) -> Reading:
        if length_s < LEAST_FLOOR_S:
            return Reading.missing(f"no silence of {LEAST_FLOOR_S} s there")
        power = self._energies[side] / (len(self._head) * length_s * self._rate_hz)
        return Reading(_decibels(power)) if power >= FAINTEST else Reading.missing(DIGITAL_SILENCE)

    def _end(self, cut: bool) -> tuple[Reading, ...]:
        if self._frames < self._fade:
            return *all_missing(self.gives[:3], "too short: under 50 ms"), *self._steps()
        last, level = (_rms(self._last[:, -frames:]) for frames in (self._edge, self._fade))
        fading = Reading(not cut and not self._closes and self._still_fading(last, level))
        return _level(last), _level(level), fading, *self._steps()

    @cached_property
    def _closes(self) -> bool:
        """True if a fade reaches silence with the last sample. Only after the last block."""
        earlier, frames = round(EARLIER_S * self._rate_hz), max(round(LAST_S * self._rate_hz), 1)
        if self._frames < earlier:
            return False
        levels = [
            _rms(self._last[:, -earlier:][:, : self._fade]),
            _rms(self._last[:, -self._fade :][:, : self._edge]),
            _rms(self._last[:, -self._edge :]),
            _rms(self._last[:, -frames:]),
        ]
        falls_db = (EARLIER_DB, CLOSING_DB, CLOSING_DB)
        return all(a >= _height(db) * b for (a, b), db in zip(pairwise(levels), falls_db, strict=True))

    def _still_fading(self, last: float, level: float) -> bool:
        """True if too loud for an end, up to the last sample, and quieter than the second before."""
        audible = min(last, level) > _height(FADED_DBFS)
        before = self._last[:, : -self._fade]
        return audible and before.size > 0 and _rms(before) >= level * _height(FALLING_DB)

    def _steps(self) -> tuple[Reading, ...]:
        return tuple(Reading(100 * float(np.abs(edge).max())) for edge in (self._head[:, 0], self._last[:, -1]))


def _starts_inside(head: Array) -> bool:
    """True if the first sample of some channel is in the middle of a sound."""
    first, rms = np.abs(head[:, 0]), np.sqrt(np.mean(head**2, axis=1))
    return bool(((first >= CUT_STEP) & (first >= CUT_STEP_OVER_RMS * rms)).any())


def _rms(edge: Array) -> float:
    """RMS of the loudest channel; (channels, frames)."""
    return float(np.sqrt(np.mean(edge**2, axis=1).max()))


def _level(rms: float) -> Reading:
    return Reading(_decibels(rms**2)) if rms**2 >= FAINTEST else Reading.missing(DIGITAL_SILENCE)


def _height(dbfs: float) -> float:
    return float(10 ** (dbfs / 20))


def _decibels(power: float) -> float:
    return 10 * float(np.log10(power))
