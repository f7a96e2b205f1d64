"""What the songs of an album are to each other: joined at a cut, or alike."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Cut(StrEnum):
    """What the samples on both sides of a cut say, when the songs are joined without a gap."""

    CONTINUOUS = "runs on"
    """The later song goes on where the earlier one stops, and one sample more or less would be heard."""
    QUIET = "quiet"
    """Silence on at least one side: there is nothing to join."""
    STEP = "a step"
    """Sound on both sides that does not fit together."""
    UNPROVEN = "not proven"
    """Sound on both sides, but so noisy that a missing sample would not show."""
    UNKNOWN = "not measured"
    """A file is missing, or there is sound on both sides and the two differ in rate or channels."""


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
    """How far the first sample lies from where the sound was heading, against how far such guesses usually lie."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """What two tracks both hold, side by side; seconds."""

    one_s: float
    """Where it begins in the one."""
    other_s: float
    length_s: float


@dataclass(frozen=True, slots=True)
class Likeness:
    """Two tracks that are one recording, exactly or nearly, or of which one holds a part of the other."""

    one: int
    other: int
    exact: bool
    correlation: float = 1.0
    """Of their loudness over time, at the best offset."""
    offset_s: float = 0.0
    """How much later the sound begins in the other one."""
    gain_db: float = 0.0
    """How much louder the other one is."""
    share: float = 1.0
    """How much of the shorter one is heard in the longer; under 1 for an edit."""
    stretches: tuple[Stretch, ...] = ()
    """Of an edit: what both hold, in the order of the shorter one."""
