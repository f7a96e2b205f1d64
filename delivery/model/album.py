"""Relations between the songs of an album: joins and likenesses."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

ALBUM_LOUDNESS = "album_integrated_lufs"
"""The one album figure that rules request by name; also the spec key that limits it."""


class Cut(StrEnum):
    """Result of comparing the samples on both sides of a cut, if the songs are joined without a gap."""

    CONTINUOUS = "continues"
    """The later song continues the waveform of the earlier one; one sample more or less would be heard."""
    QUIET = "quiet"
    """Silence on at least one side: no join to check."""
    STEP = "a step"
    """Audio on both sides that does not fit together."""
    UNPROVEN = "not proven"
    """Audio on both sides, but too noisy for a missing sample to show."""
    UNKNOWN = "not measured"
    """A file is missing, or there is audio on both sides and they differ in rate or channels."""


@dataclass(frozen=True, slots=True)
class Join:
    """The cut between two neighbours of one disc."""

    before: int
    """Position of the earlier track."""
    after: int
    cut: Cut
    gap_s: float | None
    """As stated; None: not stated."""
    step_db: float | None = None
    """Prediction error of the first sample, relative to the usual prediction error, in dB."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A passage that two tracks share; seconds."""

    one_s: float
    """Where it begins in the first track."""
    other_s: float
    length_s: float


@dataclass(frozen=True, slots=True)
class Likeness:
    """Two tracks of one recording, exactly or nearly, or one holding a part of the other."""

    one: int
    other: int
    exact: bool
    correlation: float = 1.0
    """Correlation of loudness over time, at the best offset."""
    offset_s: float = 0.0
    """How much later the audio begins in the other one."""
    gain_db: float = 0.0
    """How much louder the other one is."""
    share: float = 1.0
    """Share of the shorter one found in the longer; below 1 for an edit."""
    stretches: tuple[Stretch, ...] = ()
    """For an edit: shared passages, in the order of the shorter one."""
