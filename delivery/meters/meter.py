"""Interface of meters: declare figures, take blocks, return one result. A derived meter only computes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar, Protocol

import numpy as np
from numpy.typing import NDArray

from delivery.audio.facts import SoundFacts
from delivery.model.figure import Figure, Reading, Subject

Array = NDArray[np.float64]

NO_SOUND = "the file has no sound"
SILENT = "the file is silent"
TOO_SHORT = "too short"
LOW_RATE = "only from {rate_hz} Hz on"
NOT_STEREO = "only for two channels"


class Meter(Protocol):
    """One module of this package holds one meter; every module here is registered.

    ``result`` returns readings in the order of ``gives``. They do not depend on block boundaries.
    """

    subject: ClassVar[Subject]
    """Subject of all its figures, unless a figure names its own."""
    gives: ClassVar[tuple[Figure, ...]]
    method: ClassVar[str] = ""
    """Windows, gates, filters, thresholds and ranks, for readers of the figures; empty: see the docstring."""
    bears_nonfinite: ClassVar[bool] = False
    """True: continues after a sample that is not a number. All others stop there, and their figures are missing."""

    on_request: ClassVar[str] = ""
    """What to do for its figures, of a meter that runs only if one of them is named; empty: it always runs."""

    shares: ClassVar[type | None] = None
    """Class of what several meters read, made with ``shared=True`` and updated before them; a second argument."""

    least_rate_hz: ClassVar[int] = 0
    """At lower rates the meter does not run, and its figures are missing for that reason."""

    def __init__(self, sound: SoundFacts) -> None: ...

    def update(self, block: Array) -> None:
        """Take the next (frames, channels) float64, full scale 1.0; any number of frames."""

    def result(self) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, in that order."""


class Derived(Protocol):
    """A figure computed from other figures, not from the audio."""

    subject: ClassVar[Subject]
    gives: ClassVar[tuple[Figure, ...]]
    needs: ClassVar[tuple[str, ...]]
    """Names of figures that meters give; if one is missing, so are these, for its reason."""

    @staticmethod
    def derive(readings: Mapping[str, Reading]) -> tuple[Reading, ...]:
        """Readings of the figures in `gives`, from the *readings* of the other meters."""


def all_missing(figures: tuple[Figure, ...], why: str) -> tuple[Reading, ...]:
    """The same reason for every figure."""
    return tuple(Reading.missing(why) for _ in figures)


def planar(block: Array) -> Array:
    """(channels, frames), each channel contiguous; no copy for blocks as read by ``audio``."""
    return np.ascontiguousarray(block.T)
