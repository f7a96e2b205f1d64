"""Signs of an earlier lower bit depth: all samples on coarser steps, or quiet passages truncated without dither."""

from __future__ import annotations

import numpy as np

from delivery.audio.facts import SoundFacts
from delivery.dsp.history.quantisation import QUIET_PIECE, REACH, common_step, count_small, quiet_pieces
from delivery.meters.meter import NO_SOUND, Array, planar
from delivery.model.answer import Weight
from delivery.model.figure import Figure, Reading, Subject
from delivery.model.reasons import NO_QUIET_PASSAGE, OVER_16_BIT

PRACTICE = "common practice, no source"
LONGEST_BITS = 24
STRETCH = 8192
SMALL_A_STRETCH = 16
"""Spread over the file, for a fade at the beginning is on no steps."""
SMALL = 3200
APART = 997
KEPT = 8192
LOOKED_AT = 2
CD_STEP = 2.0**-15
LEAST_PIECES = 40


class Quantisation:
    """Samples of a 16-bit file that was changed in level and stored in 24 bits are still on its 65 536 steps.

    The first two channels are examined; of two steps the finer one is reported.
    """

    subject = Subject.HISTORY
    gives = (
        Figure(
            "common_step",
            "steps",
            2,
            "Step of which all samples are multiples, rounding apart, in steps of the bit depth; 1: none of 8 or more.",
            PRACTICE,
            weight=Weight.STRONG_SIGN,
        ),
    )

    def __init__(self, sound: SoundFacts) -> None:
        self._sound = sound
        self._step = 2.0 ** (1 - min(sound.bits or LONGEST_BITS, LONGEST_BITS))
        channels = min(sound.channels, LOOKED_AT)
        self._histograms = np.zeros((channels, 2 * REACH + 1), np.int64)
        self._left, self._counted = np.zeros(channels, np.int64), np.zeros(channels, np.int64)
        self._spread = np.zeros((channels, KEPT))
        self._apart, self._kept = APART, 0
        self._frames = 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        if self._sound.lossy:
            return
        samples = planar(block)
        at, end = self._frames, self._frames + len(block)
        while at < end and self._counted.min() < SMALL:
            if at % STRETCH == 0:
                self._left[:] = SMALL_A_STRETCH
            till = min(end, at - at % STRETCH + STRETCH)
            for c, left in enumerate(self._left):
                if left and self._counted[c] < SMALL:
                    piece = samples[c, at - self._frames : till - self._frames]
                    found = count_small(piece, self._step, int(left), self._histograms[c])
                    self._left[c] -= found
                    self._counted[c] += found
            at = till
        self._spread_out(samples)
        self._frames = end

    def _spread_out(self, samples: Array) -> None:
        """Keep every n-th frame; if the buffer is full, every second one is dropped."""
        first = -self._frames % self._apart
        while first < samples.shape[1]:
            taken = samples[: len(self._spread), first :: self._apart][:, : KEPT - self._kept]
            self._spread[:, self._kept : self._kept + taken.shape[1]] = taken
            self._kept += taken.shape[1]
            first += taken.shape[1] * self._apart
            if self._kept == KEPT:
                self._spread[:, : KEPT // 2] = self._spread[:, ::2].copy()
                self._kept //= 2
                self._apart *= 2
                first += -(self._frames + first) % self._apart

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if self._sound.lossy or not self._frames:
            return (Reading.missing(f"{self._sound.coding} has no bit depth" if self._sound.lossy else NO_SOUND),)
        spread = self._spread[:, : self._kept] / self._step
        found = [common_step(small, row) for small, row in zip(self._histograms, spread, strict=True)]
        steps = [step for step in found if step is not None]
        return (Reading(min(steps)) if steps else Reading.missing("too little soft sound to tell"),)


class Truncation:
    """Quiet passages in 16 bits without the noise of triangular dither: long runs, an error correlated with the signal.

    Examined are pieces of 256 samples that stay within 8 steps and are not constant.
    """

    subject = Subject.HISTORY
    gives = (
        Figure(
            "undithered_percent",
            "%",
            0,
            "Part of the quietest 16-bit sound with less noise than triangular dither leaves. A hint, never a proof.",
            PRACTICE,
            weight=Weight.WEAK_SIGN,
        ),
    )

    def __init__(self, sound: SoundFacts) -> None:
        self._sound = sound
        self._rows = np.zeros((min(sound.channels, LOOKED_AT), QUIET_PIECE))
        self._found = np.zeros(3, np.int64)
        self._frames = 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        if self._sound.lossy or self._found[2]:
            self._frames += len(block)
            return
        samples = planar(block)
        begun = self._frames % QUIET_PIECE
        self._frames += len(block)
        if begun:
            taken = min(QUIET_PIECE - begun, len(block))
            self._rows[:, begun : begun + taken] = samples[: len(self._rows), :taken]
            if begun + taken < QUIET_PIECE:
                return
            self._look(self._rows)
            samples = samples[:, taken:]
        whole = samples.shape[1] - samples.shape[1] % QUIET_PIECE
        self._look(samples[: len(self._rows), :whole])
        self._rows[:, : samples.shape[1] - whole] = samples[: len(self._rows), whole:]

    def _look(self, samples: Array) -> None:
        for row in samples:
            quiet_pieces(row, CD_STEP, self._found)

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        quiet, bare, finer = self._found.tolist()
        if self._sound.lossy or not self._frames:
            return (Reading.missing(f"{self._sound.coding} has no bit depth" if self._sound.lossy else NO_SOUND),)
        if finer:
            return (Reading.missing(OVER_16_BIT),)
        if quiet < LEAST_PIECES:
            return (Reading.missing(NO_QUIET_PASSAGE),)
        return (Reading(100 * bare / quiet),)
