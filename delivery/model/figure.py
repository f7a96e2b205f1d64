"""Figure: something a meter can measure. Reading: what it found, or why it could not. Measurement: all of a file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from delivery.model.answer import Weight


class Subject(StrEnum):
    """Subject of a figure, in the order in which figures are printed."""

    FILE = "file"
    LOUDNESS = "loudness"
    PEAKS = "peaks"
    CLIP = "clip runs"
    STEREO = "stereo"
    SPECTRUM = "spectrum"
    EDGES = "edges"
    HISTORY = "processing history"
    LISTEN = "places to listen to"
    MATERIAL = "material"
    """Long rows for pictures and comparisons, read by programs only."""
    OTHER = "other"
    """A figure without a subject; none of the meters' figures may have it."""


@dataclass(frozen=True, slots=True)
class Figure:
    """Declaration of a figure: the name carries the unit, so ``true_peak_dbtp``, never ``peak``."""

    name: str
    unit: str
    """As printed after the number: 'dBTP', 'LUFS', 's', '%'; empty where there is none."""
    digits: int | None
    """Decimals worth printing; None for what is not one number (texts, flags, curves)."""
    sentence: str
    """One plain sentence: what it is."""
    source: str
    """The document that defines it, or 'common practice, no source'."""
    subject: Subject = Subject.OTHER
    """Its subject in listings; by default its meter's subject."""
    columns: tuple[str, ...] = ()
    """For a row of rows: the columns, units in the names, such as ('at_s', 'channel', 'dbtp')."""
    along: str = ""
    """For a row of numbers: the figure with the position of each (bands in Hz), or their spacing (s)."""
    error: str = ""
    """The figure with the standard error of this one; empty if there is none."""
    weight: Weight | None = None
    """Weight as evidence of processing history; None for a figure of the audio itself."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A value, or the reason there is none. Never an invented number: no NaN, no infinity."""

    value: Any = None
    """float, int, bool, str, or a tuple of these; None exactly if the figure does not exist."""
    why_missing: str = ""

    @classmethod
    def missing(cls, why: str) -> Reading:
        """A reading without a value, for the reason *why*."""
        return cls(None, why)

    @property
    def exists(self) -> bool:
        """True if there is a value."""
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
        """Value of *figure*, or None if it does not exist."""
        reading = self.readings.get(figure)
        return reading.value if reading else None

    def with_readings(self, changed: Mapping[str, Reading]) -> Measurement:
        """The same measurement with some readings replaced."""
        return Measurement({**self.readings, **changed})
