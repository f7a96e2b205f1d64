"""Places to listen to: clicks of a few samples, and places where the waveform jumps because samples are lost."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.dsp import prediction as seen
from delivery.dsp.prediction import FINDINGS, HALF, ORDER, examine
from delivery.dsp.ranking import Place, Places
from delivery.dsp.roughness import LEAD, MARGIN, STRETCH, rough_places, roughness
from delivery.dsp.stretches import Lately, Stretches
from delivery.measure.meter import NO_SOUND, Array, all_missing, planar
from delivery.measure.places import figures, readings
from delivery.model.figure import Reading, Subject

METHOD = "inverse filtering by linear prediction of order 12 (Vaseghi); limits tuned on planted faults"
LEAST_RATE_HZ = 32_000
APART_S = 0.05
AT_ONCE_S = 0.002
MOST_LOOKS_A_SECOND = 12
"""Music that asks for more is full of edges; looks beyond these are not made."""
LEAST_PEAK = 10 ** (-50 / 20)
LEAST_OVER_SIGMA, JUMP_OVER_SIGMA = 10.0, 12.0
LEAST_OVER_FAR, JUMP_OVER_FAR = 1.5, 2.0
MOST_RING = 0.2
MOST_OTHERNESS, JUMP_OTHERNESS = 1.4, 1.3
"""Notes that begin on a step look like jumps, not like clicks: of a jump more is asked."""
CLEAR_OVER_FAR, CLEAR_RING, CLEAR_STAYS, CLEAR_OTHERNESS = 5.0, 0.06, 0.2, 20.0
"""A click that stands so high and leaves so little behind is one even where a note begins or ends."""
MOST_FLAT = 2
JUMP_STAYS = 0.45


class Clicks:
    """What stands out of 12 ms on either side for 1 to 5 samples, and is no attack, cut top or edge of a square wave.

    A first look at the differences of all samples finds moments worth a second; that one predicts the sound from
    itself. The first and last 55 ms of a file are not looked at.
    """

    subject = Subject.LISTEN
    gives = (
        *figures(
            "click", "clicks: 1 to 5 samples that do not belong to the sound around them", "over_sound_db", METHOD
        ),
        *figures("discontinuity", "jumps of the waveform, as lost samples leave them", "over_sound_db", METHOD),
    )

    def __init__(self, sound: SoundFacts) -> None:
        self._why_not = "" if sound.rate_hz >= LEAST_RATE_HZ else "only from 32 kHz on"
        self._rate_hz = sound.rate_hz
        self._times = max(1, int(2.0 ** round(np.log2(sound.rate_hz / 48_000))))
        self._stretch, self._half = STRETCH * self._times, HALF * self._times
        self._stretches = Stretches(sound.channels, self._stretch, LEAD)
        self._lately = Lately(sound.channels, (2 * MARGIN + 4) * self._stretch + ORDER + 2 * self._half)
        self._rough = np.zeros((sound.channels, 2, MARGIN))
        self._first = -MARGIN
        self._findings = np.zeros(FINDINGS)
        self._looks = (0, 0)
        self._clicks, self._jumps = (Places(round(APART_S * sound.rate_hz)) for _ in range(2))
        self._frames = 0

    def update(self, block: Array) -> None:
        self._frames += len(block)
        if self._why_not:
            return
        samples = planar(block)
        self._lately.append(samples)
        for piece, _frame in self._stretches.pieces(samples):
            self._look(piece)

    def _look(self, piece: Array) -> None:
        """Take whole stretches; decide about those that have seen enough of what follows them."""
        channels, count = len(piece), (piece.shape[1] - LEAD) // self._stretch
        rough = np.empty((channels, 2, self._rough.shape[2] + count))
        rough[:, :, : self._rough.shape[2]] = self._rough
        begin, end = MARGIN, rough.shape[2] - MARGIN
        suspects: list[tuple[int, int, int, int]] = []
        for c in range(channels):
            first, third = rough[c]
            roughness(piece[c], self._times, first[-count:], third[-count:])
            if end > begin:
                found = np.zeros((end - begin, 3), np.int64)
                written = rough_places(first, third, begin, end, found)
                suspects += [(self._first + k, c, order, alike) for k, order, alike in found[:written].tolist()]
        for suspect in sorted(suspects):
            self._judge(*suspect)
        if end > begin:
            rough, self._first = rough[:, :, end - MARGIN :], self._first + end - MARGIN
        self._rough = rough.copy()

    def _judge(self, stretch: int, channel: int, order: int, alike: int) -> None:
        """A second look, unless this second had its share of them."""
        second, looks = self._looks
        now = stretch * self._stretch // self._rate_hz
        looks = looks + 1 if now == second else 1
        self._looks = (now, looks)
        middle = self._roughest(stretch, channel, order)
        if looks > MOST_LOOKS_A_SECOND or middle is None:
            return
        first = middle - self._half - ORDER
        x = self._lately.channel(channel, first, middle + self._half)
        if x is None:
            return
        examine(x, self._half, self._findings)
        jump = self._findings[seen.STAYS] > JUMP_STAYS
        if _a_jump(self._findings, alike) if jump else _a_click(self._findings):
            strength = 20 * float(np.log10(self._findings[seen.PEAK] / self._findings[seen.SIGMA]))
            self._list(jump, Place(first + int(self._findings[seen.AT]), channel + 1, strength))

    def _list(self, jump: bool, place: Place) -> None:
        """One moment is of one kind in all channels: what was said first."""
        own, other = (self._jumps, self._clicks) if jump else (self._clicks, self._jumps)
        at_once = abs(place.frame - other.last) <= AT_ONCE_S * self._rate_hz
        (other if at_once else own).add(place)

    def _roughest(self, stretch: int, channel: int, order: int) -> int | None:
        """The frame in that stretch where the difference is largest."""
        first = stretch * self._stretch
        x = self._lately.channel(channel, first - LEAD, first + self._stretch)
        if x is None:
            return None
        steps: Array = np.abs(np.diff(x, 3) if order else np.diff(x[2:]))
        at = int(steps.argmax())
        return first + at

    def result(self) -> tuple[Reading, ...]:
        if not self._frames or self._why_not:
            return all_missing(self.gives, self._why_not or NO_SOUND)
        lists = (self._clicks, self._jumps)
        return tuple(reading for list_ in lists for reading in readings(list_, self._frames, self._rate_hz))


def _a_click(found: NDArray[np.float64]) -> bool:
    peak, ring, otherness = found[seen.PEAK], found[seen.RING], found[seen.OTHERNESS]
    high = peak > max(LEAST_PEAK, LEAST_OVER_SIGMA * found[seen.SIGMA], LEAST_OVER_FAR * found[seen.FAR])
    clear = peak > CLEAR_OVER_FAR * found[seen.FAR] and ring < CLEAR_RING and found[seen.STAYS] < CLEAR_STAYS
    alone = ring < MOST_RING and otherness < (CLEAR_OTHERNESS if clear else MOST_OTHERNESS)
    return bool(high and alone and found[seen.FLAT] <= MOST_FLAT)


def _a_jump(found: NDArray[np.float64], alike: int) -> bool:
    high = found[seen.PEAK] > max(JUMP_OVER_SIGMA * found[seen.SIGMA], JUMP_OVER_FAR * found[seen.FAR])
    return bool(high and not alike and found[seen.OTHERNESS] < JUMP_OTHERNESS and _a_click(found))
