"""Hash of the audio: proof that samples are the same in another container."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from delivery.audio.digest import AudioDigest
from delivery.audio.facts import SoundFacts
from delivery.model.figure import Figure, Reading, Subject

BLAKE3 = "BLAKE3 specification (2020)"


class AudioHash:
    """BLAKE3 of rate, channels and samples; independent of tags and container."""

    subject = Subject.FILE
    gives = (Figure("audio_hash", "", None, "BLAKE3 of rate, channel count and samples, without tags.", BLAKE3),)
    bears_nonfinite = True

    def __init__(self, sound: SoundFacts) -> None:
        self._digest = AudioDigest(sound.rate_hz, sound.channels, sound.integers)

    def update(self, block: NDArray[Any]) -> None:
        """Process the next block, (frames, channels) float64, or left-justified int32 of a file of integers."""
        if block.dtype == np.int32:
            self._digest.update_integers(block)
        else:
            self._digest.update(block)

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""
        return (Reading(self._digest.hexdigest()),)
