"""Figure: something a meter can measure. Reading: what it found, or why it could not. Measurement: all of a file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from delivery.model.finding import Weight


class Subject(StrEnum):
    """What a figure is about, in the order in which figures are told."""

    FILE = "file"
    LOUDNESS = "loudness"
    PEAKS = "peaks"
    CLIP = "clip runs"
    STEREO = "stereo"
    SPECTRUM = "spectrum"
    EDGES = "edges"
    HONESTY = "honesty"
    LISTEN = "listen here"
    MATERIAL = "material"
    """Long rows for pictures and comparisons: nobody reads them, programs do."""
    OTHER = "other"
    """Of a figure that was not given a subject; none of the meters' figures may have it."""


@dataclass(frozen=True, slots=True)
class Figure:
    """What a meter promises: the name carries the unit, so ``true_peak_dbtp``, never ``peak``."""

    name: str
    unit: str
    """As printed after the number: 'dBTP', 'LUFS', 's', '%'; empty where there is none."""
    digits: int | None
    """Decimals worth printing; None for what is not one number (texts, flags, curves)."""
    says: str
    """One plain sentence: what it is."""
    source: str
    """The document that defines it, or 'common practice, no source'."""
    subject: Subject = Subject.OTHER
    """Where it stands when figures are told by subject; a figure that says nothing has its meter's subject."""
    columns: tuple[str, ...] = ()
    """Of a row of rows: what stands in each of them, units in the names, such as ('at_s', 'channel', 'dbtp')."""
    along: str = ""
    """Of a row of numbers: the figure that tells where each stands (bands in Hz), or how far apart they are (s)."""
    error: str = ""
    """The figure that holds the standard error of this one; empty where there is none."""
    weight: Weight | None = None
    """How much it can prove about processing history; None for a figure of the sound as it is."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A value, or the reason there is none. Never an invented number: no NaN, no infinity."""

    value: Any = None
    """float, int, bool, str, or a tuple of these; None exactly when the figure does not exist."""
    why_missing: str = ""

    @classmethod
    def missing(cls, why: str) -> Reading:
        return cls(None, why)

    @property
    def exists(self) -> bool:
        return self.value is not None


@dataclass(frozen=True, slots=True)
class Measurement(Mapping[str, Reading]):
    """Every reading of one file, by figure name."""

    readings: Mapping[str, Reading]

    def __getitem__(self, figure: str) -> Reading:
        return self.readings[figure]

    def __iter__(self) -> Iterator[str]:
        return iter(self.readings)

    def __len__(self) -> int:
        return len(self.readings)

    def value(self, figure: str) -> Any:
        """The value of *figure*, or None where it does not exist."""
        reading = self.readings.get(figure)
        return reading.value if reading else None

    def with_readings(self, changed: Mapping[str, Reading]) -> Measurement:
        """The same measurement with some readings replaced."""
        return Measurement({**self.readings, **changed})
