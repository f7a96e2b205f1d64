"""A version beside its main: which stretches of the main it holds, and where it differs from them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum


class VersionKind(StrEnum):
    """What a version is called."""

    INSTRUMENTAL = "instrumental"
    CLEAN = "clean version"
    TV = "TV version"
    A_CAPPELLA = "a cappella"
    EDIT = "edit"
    UNNAMED = "version"


NAMES = (
    (VersionKind.INSTRUMENTAL, re.compile(r"\b(instrumental|inst|karaoke)\b", re.IGNORECASE)),
    (VersionKind.CLEAN, re.compile(r"\b(clean|censored)\b", re.IGNORECASE)),
    (VersionKind.A_CAPPELLA, re.compile(r"\b(a[ -]?cap+el+a|vocals? only)\b", re.IGNORECASE)),
    (VersionKind.TV, re.compile(r"\btv\b", re.IGNORECASE)),
    (VersionKind.EDIT, re.compile(r"\b(edit|cut[ -]?down|short|\d+ ?s(ec)?)\b", re.IGNORECASE)),
)
"""Words that name versions; a remix or a live version is another recording and is not among them."""


def kind_of(text: str) -> VersionKind | None:
    """The kind that a version's text or a file's name states; None where it states none of these."""
    plain = re.sub(r"[_.]+", " ", text)
    return next((kind for kind, pattern in NAMES if pattern.search(plain)), None)


class Change(StrEnum):
    """Kind of a difference between a version and the main mix."""

    MUTED = "muted"
    LESS = "less"
    """The main holds something more there, such as the voice."""
    MORE = "more"
    """The version holds something more there."""
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch that both hold, in frames of the common rate."""

    main: int
    other: int
    frames: int


@dataclass(frozen=True, slots=True)
class Place:
    """Where the version differs; seconds of the main."""

    change: Change
    from_s: float
    until_s: float


@dataclass(frozen=True, slots=True)
class Version:
    """A version compared with the main mix, in pieces."""

    rate_hz: int
    """The lower of both rates, at which frames are counted."""
    main_frames: int
    other_frames: int
    pieces: tuple[Piece, ...]
    """In the order of the version; empty: it holds nothing of the main."""
    gain_db: float = 0.0
    """How much louder the version is where both are the same."""
    same_share: float = 0.0
    """Of the time that the pieces sound, how much is the same in both."""
    residual_db: float | None = None
    """What is left there when one is subtracted from the other; None where nothing is the same."""
    places: tuple[Place, ...] = ()
    silent_share: float = 0.0
    """Of the time that the main sounds, how much the version is silent."""

    @property
    def whole(self) -> bool:
        """One piece without a cut."""
        return len(self.pieces) == 1

    @property
    def offset_frames(self) -> int:
        """How much later the version begins, of one piece."""
        return self.pieces[0].other - self.pieces[0].main
