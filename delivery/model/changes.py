"""What differs between two deliveries of a release, as data; `report.view.changes` words it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

LEVEL_DB = 0.095
"""Change of loudness that is reported: a step of 0.1 dB; other silence alone moves gated loudness by less."""
EDGE_S = 0.005
"""Change of leading or trailing silence that is reported: where sound begins is found to about a millisecond."""
EDGE_AT_OTHER_LEVEL_S = 0.1
"""The same, where the level changed too: a fade then crosses the threshold of silence elsewhere. Our own figure."""


class About(StrEnum):
    """What a changed value belongs to, in the order in which changes are reported."""

    TITLES = "titles"
    CREDITS = "credits"
    CODES = "codes"
    ORDER = "order"
    GAPS = "gaps"
    LABEL_COPY = "label copy"
    SPECS = "specs"
    WAIVERS = "waivers"
    APPROVAL = "approval"
    NOTES = "notes"
    ARTWORK = "artwork"
    STUDIO = "studio"
    PROGRAM = "program"


@dataclass(frozen=True, slots=True)
class Value:
    """A value that differs."""

    about: About
    key: str
    """As the data document names it: 'isrc', 'composers', 'waivers' ..."""
    before: Any
    """None: not there; for lists, the items that were removed."""
    after: Any
    """The same; for lists, the items that were added."""
    track: str = ""
    """Printed number of the track in the later delivery; empty: the release."""
    title: str = ""
    """Title of that track in the later delivery."""


@dataclass(frozen=True, slots=True)
class Tone:
    """Change of a band's level against the change of loudness."""

    below_hz: float | None
    """Upper edge of the band; None: everything above ``from_hz``."""
    from_hz: float
    change_db: float


@dataclass(frozen=True, slots=True)
class Audio:
    """One track's audio in both deliveries."""

    track: str
    """Printed number in the later delivery."""
    title: str
    same_samples: bool
    same_bytes: bool = True
    """False with the same samples: the file's header, chunks or tags differ."""
    unknown: str = ""
    """Why the two cannot be compared; empty if they can."""
    level_db: float | None = None
    """Change of loudness; None: unknown."""
    length_s: float = 0.0
    """Later minus earlier."""
    head_s: float = 0.0
    """Change of the silence at the beginning."""
    tail_s: float = 0.0
    """Change of the silence at the end."""
    tone: tuple[Tone, ...] = ()
    """Bands that changed audibly; empty if none did, or if no spectrum is known."""
    form: tuple[str, str] | None = None
    """Rate, bit depth and channels before and after, where they differ: '96000 24 2'."""


@dataclass(frozen=True, slots=True)
class Move:
    """A track with another number."""

    before: str
    after: str
    title: str


@dataclass(frozen=True, slots=True)
class Listed:
    """A track that only one of the two deliveries has."""

    track: str
    title: str


@dataclass(frozen=True, slots=True)
class Changes:
    """Differences from *earlier* to *later*; the number of the revision itself is none."""

    earlier: str
    """'revision 2', or whatever names the earlier delivery."""
    later: str
    audio: tuple[Audio, ...] = ()
    """Every track that both have, in the later order."""
    added: tuple[Listed, ...] = ()
    removed: tuple[Listed, ...] = ()
    moved: tuple[Move, ...] = ()
    values: tuple[Value, ...] = ()
    """By subject, then track."""

    def for_specs(self, specs: Collection[str]) -> Changes:
        """What concerns these specs, and nothing of the others."""
        kept = (_value_for(value, specs) for value in self.values)
        return replace(self, values=tuple(value for value in kept if value))

    @property
    def new_audio(self) -> tuple[Audio, ...]:
        """Tracks with other audio than before."""
        return tuple(each for each in self.audio if not (each.same_samples and each.same_bytes))

    @property
    def nothing(self) -> bool:
        """True if nothing differs."""
        return not (self.new_audio or self.added or self.removed or self.moved or self.values)


def _value_for(value: Value, specs: Collection[str]) -> Value | None:
    if value.about is About.SPECS:
        return value if value.key in specs else None
    if value.about is not About.WAIVERS:
        return value
    before, after = (
        [entry for entry in entries or () if entry.get("spec") in (None, *specs)]
        for entries in (value.before, value.after)
    )
    return replace(value, before=before, after=after) if before or after else None
