"""Feed meters sound that is already in memory."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.meters import measure_blocks
from delivery.model.figure import Measurement

Array = NDArray[np.float64]


def facts(
    sound: Array, rate_hz: int, coding: str = "float", bits: int | None = 24, speakers: Sequence[str] = ()
) -> SoundFacts:
    form = ("wav", "RIFF", coding, rate_hz, sound.shape[1], len(sound), bits, 0)
    return SoundFacts(Path("memory.wav"), *form, speakers=tuple(speakers))


def cut(sound: Array, lengths: Sequence[int] | int) -> Iterator[Array]:
    """Blocks of these lengths, the last of which repeats to the end."""
    lengths = [lengths] if isinstance(lengths, int) else list(lengths)
    at = 0
    while at < len(sound):
        length = lengths.pop(0) if len(lengths) > 1 else lengths[0]
        yield sound[at : at + length]
        at += length


def measured(
    sound: Array, rate_hz: int, *, coding: str = "float", bits: int | None = 24, speakers: Sequence[str] = ()
) -> Measurement:
    """Every figure of *sound*, (frames, channels)."""
    return measure_blocks(facts(sound, rate_hz, coding, bits, speakers), cut(sound, 32_768))


def readings(
    meter: Any, sound: Array, rate_hz: int, block: int = 32_768, speakers: Sequence[str] = ()
) -> dict[str, Any]:
    """Figure name to value (None when missing) of one meter class."""
    running = meter(facts(sound, rate_hz, speakers=speakers))
    for piece in cut(sound, block):
        running.update(piece)
    return {figure.name: reading.value for figure, reading in zip(meter.gives, running.result(), strict=True)}


def why(meter: Any, sound: Array, rate_hz: int) -> dict[str, str]:
    """Figure name to the reason it is missing."""
    running = meter(facts(sound, rate_hz))
    running.update(sound)
    return {figure.name: reading.why_missing for figure, reading in zip(meter.gives, running.result(), strict=True)}
