"""Two sound files beside each other: whether they hold one recording, and how they differ."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise

from delivery.model.sections import Contrast, Section, SectionLevels, SectionSource
from delivery.model.version import Version, VersionKind


class Polarity(StrEnum):
    """Polarity of the second file relative to the first."""

    SAME = "same"
    INVERTED = "inverted"
    ONE_CHANNEL = "one channel inverted"


@dataclass(frozen=True, slots=True)
class Residual:
    """What is left of the one when the other, aligned and matched, is subtracted."""

    whole_db: float
    """Power of what is left, against the power of the one."""
    curve_db: tuple[float, ...]
    """The same for each second of the shared part."""
    middles_hz: tuple[float, ...]
    bands_db: tuple[float, ...]
    """The same for each third octave."""


@dataclass(frozen=True, slots=True)
class Pair:
    """Comparison of two files."""

    identical: bool
    """The same samples, at the same rate."""
    same_recording: bool | None
    """None: too short or too quiet to decide."""
    why: str = ""
    """Why it is no such recording, or why it cannot be decided."""
    offset_s: float | None = None
    """How much later the recording begins in the second file."""
    gain_db: float | None = None
    """How much louder the second file is, over what both share (gated loudness)."""
    polarity: Polarity | None = None
    drift_ppm: float | None = None
    """How much slower the second file's clock runs: a positive value makes it longer."""
    shared_s: float = 0.0
    residual: Residual | None = None
    figures: Mapping[str, tuple[float | None, float | None]] = field(default_factory=dict)
    """Figure -> value of the one and of the other; None where not measured."""
    tone_hz: tuple[float, ...] = ()
    tone_db: tuple[float, ...] = ()
    """Third octaves of the second file less those of the first, each against its own loudness."""

    sections: tuple[tuple[Section, SectionLevels, SectionLevels], ...] = ()
    """Of the shared part, in times of the first file: what each measures in the one and in the other."""
    section_source: SectionSource = SectionSource.FOUND
    version: Version | None = None
    """The second file as a version of the first; None where neither name nor sound makes it one."""
    version_kind: VersionKind = VersionKind.UNNAMED

    @property
    def contrasts(self) -> tuple[Contrast, ...]:
        """How far each section is above the one before it, in both files."""
        return tuple(
            Contrast(
                before[0],
                after[0],
                after[1].loudness_lufs - before[1].loudness_lufs,
                after[2].loudness_lufs - before[2].loudness_lufs,
            )
            for before, after in pairwise(self.sections)
        )

    @property
    def residual_db(self) -> float | None:
        """Level of the difference relative to the first file, dB; None if not aligned."""
        return self.residual.whole_db if self.residual else None
