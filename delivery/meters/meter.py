"""What every meter is: it says what it gives, takes blocks, and answers once. A derived meter only computes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar, Protocol

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.model.figure import Figure, Reading, Subject

Array = NDArray[np.float64]

NO_SOUND = "the file holds no sound"
SILENT = "the file is silent"
TOO_SHORT = "too short"
LOW_RATE = "only from {rate_hz} Hz on"
NOT_STEREO = "only for two channels"


class Meter(Protocol):
    """One file in this room holds one meter; being here is being registered.

    ``result`` answers in the order of ``gives``. The answer does not depend on how the sound was cut into blocks.
    """

    subject: ClassVar[Subject]
    """Of all its figures, unless a figure names its own."""
    gives: ClassVar[tuple[Figure, ...]]
    method: ClassVar[str] = ""
    """Windows, gates, filters, thresholds and ranks, for whoever reads the figures; empty: the docstring says them."""
    bears_nonfinite: ClassVar[bool] = False
    """True: goes on after a sample that is not a number. All others stop there, and their figures are missing."""

    least_rate_hz: ClassVar[int] = 0
    """At lower rates the meter is not made at all, and its figures are missing for that reason."""

    def __init__(self, sound: SoundFacts) -> None: ...

    def update(self, block: Array) -> None:
        """Take the next (frames, channels) float64, full scale 1.0; any number of frames."""

    def result(self) -> tuple[Reading, ...]: ...


class Derived(Protocol):
    """A figure made of other figures; it never sees the sound."""

    subject: ClassVar[Subject]
    gives: ClassVar[tuple[Figure, ...]]
    needs: ClassVar[tuple[str, ...]]
    """Names of figures that meters give; when one is missing, so are these, for its reason."""

    @staticmethod
    def derive(readings: Mapping[str, Reading]) -> tuple[Reading, ...]: ...


def all_missing(figures: tuple[Figure, ...], why: str) -> tuple[Reading, ...]:
    """One reason for every figure."""
    return tuple(Reading.missing(why) for _ in figures)


def planar(block: Array) -> Array:
    """(channels, frames), each channel in one piece of memory; costs nothing for blocks as ``audio`` reads them."""
    return np.ascontiguousarray(block.T)
