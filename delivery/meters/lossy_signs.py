"""Signs of earlier lossy coding. Evidence, never proof.

The frames of MP3, AAC and Vorbis are searched on their own sampling grid, those of AAC and Vorbis also before a
conversion between 44.1 and 48 kHz. Not covered: Opus, MP2, AC-3 and others, and any coder if the audio was stretched,
phase-filtered or otherwise converted since.
"""

from __future__ import annotations

import heapq

import numpy as np

from delivery.audio.facts import SoundFacts
from delivery.dsp.history.codec_traces import EXCERPT, CodecTraces, Excerpt, steady_treble
from delivery.dsp.history.converted_traces import coder_before_conversion, other_rate_hz
from delivery.meters.meter import NO_SOUND, SILENT, Array, all_missing, planar
from delivery.model.answer import Weight
from delivery.model.figure import Figure, Reading, Subject
from delivery.model.reasons import ABOVE_48_KHZ

SOURCE = "Herre and Schug, AES 109th Convention (2000): the inverse decoder"
GRID = 65_536
"""Frames between candidate excerpts; as long as a block, so that most lie within one."""
CHOSEN = 8
VIEWS = ("mid", "left", "mid", "right")
"""Used in turn: coders switch between left and right, and their sum and difference."""
LEAST_S = 5.0
HIGHEST_RATE_HZ = 48_000
SURE_DECADES = 6.0
OVER_DITHER = 10.0
"""Power between 5 and 13 kHz over that of triangular dither in the same band: below this it is too dull to judge."""


class LossyFrames:
    """Zeros left by a coder's quantisation in its own transform, in the eight excerpts with the steadiest treble.

    Dither, a change of level and a limiter preserve most of these zeros.
    """

    subject = Subject.HISTORY
    gives = (
        Figure(
            "lossy_coder",
            "",
            None,
            "Lossy coder whose frames the sound shows (MP3, AAC, Vorbis); none: no evidence. A sign, never a proof.",
            SOURCE,
            weight=Weight.STRONG_SIGN,
        ),
        Figure(
            "lossy_coder_decades",
            "decades",
            1,
            "How unlikely the best fit to a coder's frames is by chance, in powers of ten; 'none' below 6.",
            SOURCE,
            weight=Weight.STRONG_SIGN,
        ),
        Figure(
            "lossy_coder_rate_hz",
            "Hz",
            0,
            "Rate at which the coder's frames fit; another one than the file's if it was converted since.",
            SOURCE,
            weight=Weight.STRONG_SIGN,
        ),
    )

    def __init__(self, sound: SoundFacts) -> None:
        self._sound = sound
        self._why_not = self._unfit(sound)
        self._excerpt = np.zeros((min(sound.channels, 2), EXCERPT))
        self._best: list[tuple[float, int, Array]] = []
        self._frames = 0

    @staticmethod
    def _unfit(sound: SoundFacts) -> str:
        if sound.lossy:
            return f"{sound.coding} is lossy itself"
        return ABOVE_48_KHZ if sound.rate_hz > HIGHEST_RATE_HZ else ""

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        samples = planar(block)
        at, end = self._frames, self._frames + len(block)
        self._frames = end
        while not self._why_not and at < end:
            begun = at % GRID
            if begun >= EXCERPT:
                at += GRID - begun
                continue
            taken = min(EXCERPT - begun, end - at)
            start = at - (end - len(block))
            self._excerpt[:, begun : begun + taken] = samples[:2, start : start + taken]
            at += taken
            if begun + taken == EXCERPT:
                self._consider(at - EXCERPT)

    def _consider(self, at: int) -> None:
        treble = sum(steady_treble(row) for row in self._excerpt)
        if treble <= 0:
            return
        if len(self._best) < CHOSEN:
            heapq.heappush(self._best, (treble, -at, self._excerpt.copy()))
        elif (treble, -at) > self._best[0][:2]:
            heapq.heapreplace(self._best, (treble, -at, self._excerpt.copy()))

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if self._why_not or not self._frames:
            return all_missing(self.gives, self._why_not or NO_SOUND)
        if self._frames < LEAST_S * self._sound.rate_hz:
            return all_missing(self.gives, "too short: under 5 s")
        if not self._best:
            return all_missing(self.gives, SILENT)
        excerpts = self._views()
        zeros = CodecTraces()
        zeros.add(excerpts)
        coder, decades = zeros.best()
        if decades >= SURE_DECADES:
            return Reading(coder), Reading(decades), Reading(self._sound.rate_hz)
        if zeros.treble < OVER_DITHER * self._dither():
            return all_missing(self.gives, "too dull to tell")
        if other_hz := other_rate_hz(self._sound.rate_hz):
            coder, earlier = coder_before_conversion(excerpts, self._sound.rate_hz, other_hz)
            if earlier >= SURE_DECADES:
                return Reading(coder), Reading(earlier), Reading(other_hz)
        if not zeros.excerpts.all():
            return all_missing(self.gives, "too regular to tell")
        return Reading("none"), Reading(max(decades, 0.0)), Reading.missing("no coder found")

    def _views(self) -> list[Excerpt]:
        """The excerpts, each of one channel or of the middle, from the most treble down."""
        ordered = sorted(self._best, key=lambda best: best[:2], reverse=True)
        return [
            Excerpt(-earlier, _view(excerpt, VIEWS[number % len(VIEWS)]))
            for number, (_, earlier, excerpt) in enumerate(ordered)
        ]

    def _dither(self) -> float:
        """Power of triangular dither: a quarter of a squared step."""
        step = 2.0 ** (1 - (self._sound.bits or 24))
        return step * step / 4


def _view(excerpt: Array, name: str) -> Array:
    """(EXCERPT,) of one or two channels; mono has one view, and if the middle is empty a side is used instead."""
    left: Array = excerpt[0]
    right: Array = excerpt[-1]
    middle: Array = (left + right) * float(np.sqrt(0.5))
    if name == "mid" and np.ptp(middle) > 0:
        return middle
    return right if name == "right" or np.ptp(left) == 0 else left
