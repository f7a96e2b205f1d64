"""Samples that are not numbers, samples beyond full scale, and padding bits."""

from __future__ import annotations

import numpy as np

from delivery.audio.facts import SoundFacts
from delivery.dsp.history.effective_bits import INTEGER_BITS, used_bits, whole_bits
from delivery.meters.meter import NO_SOUND, SILENT, Array, planar
from delivery.model.answer import Weight
from delivery.model.figure import Figure, Reading, Subject


class Numbers:
    """Only float files (and decoded lossy ones) can have these; integers are always in range."""

    subject = Subject.HISTORY
    gives = (
        Figure(
            "nonfinite_samples",
            "",
            0,
            "Samples that are not numbers (NaN or infinite).",
            "IEEE 754",
            weight=Weight.FACT,
        ),
        Figure(
            "float_overs",
            "",
            0,
            "Samples beyond full scale, which only float codings can hold.",
            "IEEE 754",
            weight=Weight.FACT,
        ),
    )
    bears_nonfinite = True

    def __init__(self, sound: SoundFacts) -> None:
        self._integers = sound.integers
        self._nonfinite = self._overs = 0

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        if self._integers:
            return
        finite = np.isfinite(block)
        self._nonfinite += int(block.size - np.count_nonzero(finite))
        self._overs += int(np.count_nonzero((np.abs(block) > 1.0) & finite))

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        return Reading(self._nonfinite), Reading(self._overs)


class PaddedBits:
    """Bit depth in use, for floats too if all are integers: low bits that are always zero are padding."""

    subject = Subject.HISTORY
    gives = (
        Figure(
            "effective_bits",
            "bit",
            0,
            "Bit depth without low bits that are zero in every sample; 16 bits padded to 24 or held as floats read 16.",
            "by definition: all samples joined by OR",
            weight=Weight.FACT,
        ),
    )

    def __init__(self, sound: SoundFacts) -> None:
        self._sound = sound
        self._bits = 0
        self._finer = False
        """A float that is not an integer was found; nothing more is examined."""

    def update(self, block: Array) -> None:
        """Process the next block, (frames, channels) float64."""
        if self._sound.lossy or self._finer or (self._sound.integers and self._bits >= INTEGER_BITS):
            return
        if self._sound.integers:
            self._bits = max(self._bits, used_bits(planar(block), self._bits, self._sound.bits or INTEGER_BITS))
            return
        found = whole_bits(planar(block), self._bits)
        self._bits, self._finer = max(self._bits, found), found < 0

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        if self._sound.lossy or self._finer:
            return (Reading.missing(f"{self._sound.coding} samples, not all of them integers"),)
        return (Reading(self._bits) if self._bits else Reading.missing(SILENT if self._sound else NO_SOUND),)
