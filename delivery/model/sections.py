"""Sections of a song: as a release file states them or as found in the sound, and what each measures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from typing import NamedTuple


@dataclass(frozen=True, slots=True)
class SectionStart:
    """Where a section begins, as a release file states it; it ends where the next one begins."""

    name: str
    from_s: float


class SectionSource(StrEnum):
    """How sections came about."""

    STATED = "stated in the release file"
    FOUND = "found from level and timbre over time (checkerboard novelty on a self-similarity matrix; Foote, 2000)"


@dataclass(frozen=True, slots=True)
class Section:
    """A named section of a song."""

    name: str
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class SectionLevels:
    """Levels of one section."""

    loudness_lufs: float
    """K-weighted, ungated."""
    low_end_db: float
    """22 to 89 Hz, against everything in the section."""
    side_mid_db: float | None
    """None of mono sound."""
    crest_db: float
    """Sample peak against rms."""
    psr_db: float | None = None
    """True peak less loudness of 3 s, what 19 of 20 windows in the section are above; None: no window fits into it."""
    attack_db: tuple[float | None, ...] = (None, None, None)
    """How far the strongest hits rise above what sounds before them, median: below 190 Hz, up to 3 kHz, above."""


class MeasuredSection(NamedTuple):
    """A section with its levels."""

    section: Section
    levels: SectionLevels


@dataclass(frozen=True, slots=True)
class SongSections:
    """The macrodynamics of one song."""

    title: str
    source: SectionSource
    sections: tuple[MeasuredSection, ...]
    """Empty: the song is too short or too even to have any."""
    problem: str = ""
    """Why it could not be measured."""

    @property
    def contrasts_lu(self) -> tuple[float, ...]:
        """How far each section but the first is above the one before it."""
        return tuple(
            after.levels.loudness_lufs - before.levels.loudness_lufs for before, after in pairwise(self.sections)
        )


@dataclass(frozen=True, slots=True)
class Contrast:
    """Two neighbouring sections; LU by which the later one is louder."""

    before: Section
    after: Section
    one_lu: float
    other_lu: float


def stated_sections(starts: Sequence[SectionStart], end_s: float) -> tuple[Section, ...]:
    """The sections that begin before *end_s*; a name that comes again is counted: 'chorus', 'chorus 2'."""
    inside = [start for start in starts if start.from_s < end_s]
    if not inside:
        return ()
    ends = [*(start.from_s for start in inside[1:]), end_s]
    seen: dict[str, int] = {}
    found = []
    for start, stop_s in zip(inside, ends, strict=True):
        seen[start.name] = seen.get(start.name, 0) + 1
        name = start.name if seen[start.name] == 1 else f"{start.name} {seen[start.name]}"
        found.append(Section(name, start.from_s, stop_s))
    return tuple(found)
