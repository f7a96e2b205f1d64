"""Events to listen to: clicks of a few samples, and jumps of the waveform where samples are lost."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.dsp.blocks.stretches import Lately, Stretches
from delivery.dsp.events import prediction as seen
from delivery.dsp.events.click_prefilter import (
    BLOCK,
    MARGIN,
    PER_BLOCK,
    PRODUCTS,
    STRETCH,
    lead,
    rough_places,
    roughness,
)
from delivery.dsp.events.prediction import FINDINGS, HALF, ORDER, examine
from delivery.dsp.events.ranking import Place, Places
from delivery.meters.meter import NO_SOUND, Array, all_missing, planar
from delivery.meters.places import figures, outstanding, outstanding_figures, readings
from delivery.model.figure import Reading, Subject

METHOD = "inverse filtering by linear prediction of order 12 (Vaseghi); limits tuned on planted faults"
LEAST_RATE_HZ = 32_000
APART_S = 0.05
AT_ONCE_S = 0.002
MOST_LOOKS_A_SECOND = 30
"""Music with more candidates is full of edges; further ones are not examined."""
TAIL = MARGIN + 2 * PER_BLOCK + 1
"""Segments of silence after which the last ones of the file can be judged."""
LEAST_DEPARTURE = 10 ** (-43.5 / 20)
LEAST_OVER_BACKGROUND = 1.8
MOST_FLAT = 2
MOST_OVER_TOP = 0.5
"""Share of the departure. More is a peak of the waveform, cut off for so few samples that none or two are equal."""
JUMP_OVER_SIGMA, JUMP_OVER_BACKGROUND, JUMP_OVER_NEARBY, MOST_SIDE_MISMATCH_OF_A_JUMP = 8.0, 6.0, 8.0, 1.3
CLICK_STANDS_OUT_DB, JUMP_STANDS_OUT_DB = 37.0, 45.0
"""Over the sound around: music makes softer ones by itself. Tuned on planted faults and on music without any."""
Findings = NDArray[np.float64]
"""Result of ``prediction.examine`` for one event."""


class Way(NamedTuple):
    """Limits for one way of being a click, by finding of ``prediction``.

    The more an event stands out, and the less the audio beside it rings or changes, the less has to be explained.
    """

    least_explained: float
    least_over_background: float
    least_over_nearby: float
    most_residual: float
    """In units of SIGMA."""
    most_side_mismatch: float


NEARLY_ALL_EXPLAINED = Way(30.0, 0.0, 6.0, 4.0, math.inf)
MOST_EXPLAINED_AND_HIGH = Way(12.0, 3.5, 0.0, 10.0, 1.3)
ALL_OUTSTANDING = Way(4.0, 2.0, 2.0, 3.0, 1.4)
WAYS = (NEARLY_ALL_EXPLAINED, MOST_EXPLAINED_AND_HIGH, ALL_OUTSTANDING)


class Clicks:
    """Events of 1 to 5 samples, outstanding in 12 ms on either side, that are not an attack, clipping or an edge of a
    square wave.

    A prefilter over all samples selects candidates; each is then predicted from its surroundings, and tested whether
    other values of a few samples explain the residual. Where these lie beyond the top of the waveform, it is clipping.
    The first and last 12 ms of a file are not examined.
    """

    subject = Subject.LISTEN
    gives = (
        *figures(
            "click", "clicks: 1 to 5 samples that do not belong to the sound around them", "over_sound_db", METHOD
        ),
        *figures("jump", "jumps of the waveform, as lost samples leave them", "over_sound_db", METHOD),
        *outstanding_figures("click_places", METHOD, f"those from {CLICK_STANDS_OUT_DB:.0f} dB on"),
        *outstanding_figures("jump_places", METHOD, f"those from {JUMP_STANDS_OUT_DB:.0f} dB on"),
    )

    def __init__(self, sound: SoundFacts) -> None:
        self._why_not = "" if sound.rate_hz >= LEAST_RATE_HZ else "only from 32 kHz on"
        self._rate_hz = sound.rate_hz
        self._times = min(PER_BLOCK, max(1, int(2.0 ** round(np.log2(sound.rate_hz / 48_000)))))
        self._stretch, self._half = STRETCH * self._times, HALF * self._times
        self._lead = lead(self._times)
        self._stretches = Stretches(sound.channels, BLOCK * self._times, self._lead)
        self._lately = Lately((2 * MARGIN + 4) * self._stretch + 2 * (self._lead + self._half))
        self._products = np.zeros((sound.channels, 2, PRODUCTS))
        self._window = np.hanning(BLOCK).astype(np.float32)
        self._rough = np.zeros((sound.channels, MARGIN))
        self._first = -MARGIN - PER_BLOCK
        self._findings = np.zeros(FINDINGS)
        self._looks = (0, 0)
        self._clicks, self._jumps = (Places(round(APART_S * sound.rate_hz)) for _ in range(2))
        self._frames = 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        self._frames += len(block)
        if not self._why_not:
            self._take(planar(block))

    def _take(self, samples: Array) -> None:
        self._lately.append(samples)
        for piece, _frame in self._stretches.pieces(samples):
            self._look(piece)

    def _look(self, piece: Array) -> None:
        """Process whole blocks; judge the segments that have enough audio after them."""
        channels, count = len(piece), (piece.shape[1] - self._lead) // self._stretch
        rough = np.empty((channels, self._rough.shape[1] + count))
        rough[:, : self._rough.shape[1]] = self._rough
        begin, end = MARGIN, rough.shape[1] - MARGIN
        suspects: list[tuple[int, int, int]] = []
        for c in range(channels):
            roughness(piece[c], self._window, self._times, self._products[c], rough[c, -count:])
            if end > begin:
                found = np.zeros((end - begin, 2), np.int64)
                written = rough_places(rough[c], begin, end, found)
                suspects += [(self._first + k, c, train) for k, train in found[:written].tolist()]
        for suspect in sorted(suspects):
            self._judge(*suspect)
        if end > begin:
            rough, self._first = rough[:, end - MARGIN :], self._first + end - MARGIN
        self._rough = rough.copy()

    def _judge(self, stretch: int, channel: int, train: int) -> None:
        """Examine a candidate, unless this second had its maximum."""
        second, looks = self._looks
        now = stretch * self._stretch // self._rate_hz
        looks = looks + 1 if now == second else 1
        self._looks = (now, looks)
        middle = self._roughest(stretch, channel)
        if looks > MOST_LOOKS_A_SECOND or middle is None or middle + self._half > self._frames:
            return
        first = middle - self._half - ORDER
        x = self._lately.channel(channel, first, middle + self._half)
        if x is None or not examine(x, self._half, LEAST_OVER_BACKGROUND, self._findings):
            return
        click = _a_click(self._findings)
        if click or (not train and _a_jump(self._findings)):
            strength = 20 * float(np.log10(self._findings[seen.PEAK] / self._findings[seen.SIGMA]))
            self._list(not click, Place(first + int(self._findings[seen.AT]), channel + 1, strength))

    def _list(self, jump: bool, place: Place) -> None:
        """One event is of one kind in all channels: the first found."""
        own, other = (self._jumps, self._clicks) if jump else (self._clicks, self._jumps)
        at_once = abs(place.frame - other.last) <= AT_ONCE_S * self._rate_hz
        (other if at_once else own).add(place)

    def _roughest(self, stretch: int, channel: int) -> int | None:
        """The frame in that segment with the largest second difference."""
        first = stretch * self._stretch
        x = self._lately.channel(channel, first - 3, first + self._stretch)
        return None if x is None else first + int(np.abs(np.diff(x, 3)).argmax())

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if not self._frames or self._why_not:
            return all_missing(self.gives, self._why_not or NO_SOUND)
        self._take(np.zeros((len(self._rough), TAIL * self._stretch)))
        length = self._frames, self._rate_hz
        return (
            *readings(self._clicks, *length),
            *readings(self._jumps, *length),
            *outstanding(self._clicks, *length, CLICK_STANDS_OUT_DB),
            *outstanding(self._jumps, *length, JUMP_STANDS_OUT_DB),
        )


def _a_click(found: Findings) -> bool:
    """True if other values of a few samples explain it, in one of several ways."""
    return _is_audible(found) and any(_fits(way, found) for way in WAYS)


def _fits(way: Way, found: Findings) -> bool:
    peak = found[seen.PEAK]
    return bool(
        found[seen.EXPLAINED] > way.least_explained
        and peak > way.least_over_background * found[seen.BACKGROUND_PEAK]
        and peak > way.least_over_nearby * found[seen.NEARBY_PEAK]
        and found[seen.RESIDUAL_PEAK] < way.most_residual * found[seen.SIGMA]
        and found[seen.SIDE_MISMATCH] < way.most_side_mismatch
    )


def _a_jump(found: Findings) -> bool:
    """True if nothing near it is as high, and the audio on both sides is of one kind."""
    others = (
        JUMP_OVER_SIGMA * found[seen.SIGMA],
        JUMP_OVER_BACKGROUND * found[seen.BACKGROUND_PEAK],
        JUMP_OVER_NEARBY * found[seen.NEARBY_PEAK],
    )
    return _is_audible(found) and bool(
        found[seen.PEAK] > max(others) and found[seen.SIDE_MISMATCH] < MOST_SIDE_MISMATCH_OF_A_JUMP
    )


def _is_audible(found: Findings) -> bool:
    """True if it departs from its surroundings, and is not clipping."""
    clipped = found[seen.FLAT_SAMPLES] > MOST_FLAT or found[seen.OVER_TOP] > MOST_OVER_TOP * found[seen.DEPARTURE]
    return bool(found[seen.DEPARTURE] > LEAST_DEPARTURE and not clipped)
