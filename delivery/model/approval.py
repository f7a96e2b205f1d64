"""Approval of masters: bound to their audio and label copy, so that it is never printed for anything else. Pure."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date


@dataclass(frozen=True, slots=True)
class CopyMarks:
    """Label copy as it was approved, of the release or of one track: enough to name what changed since then."""

    title: str
    """With the version, as printed."""
    fields: Mapping[str, str] = field(default_factory=dict)
    """Key of the release file -> hash of its value; keys that were not supplied are absent."""


NOT_APPROVED = CopyMarks("")
"""Stands for a track, or the release, whose label copy is not approved."""


@dataclass(frozen=True, slots=True)
class Earlier:
    """Tracks that another person approved, or the same one on another day."""

    by: str
    dated: date
    tracks: tuple[int, ...]
    """Positions."""


@dataclass(frozen=True, slots=True)
class Approval:
    """Approval of these masters, in this order."""

    by: str
    dated: date
    audio_hashes: tuple[str, ...]
    """Hashes of the masters in release order, lower case, each at least its first eight digits; '': not approved."""
    label_copy: tuple[CopyMarks, ...] = ()
    """Of the release, then of each track; empty: the approval is about audio alone."""
    earlier: tuple[Earlier, ...] = ()
    """Who approved which tracks before; the others are by ``by``."""

    def covers(self, position: int, audio_hash: str) -> bool:
        """True if the master with *audio_hash* ('' if unknown) was approved at *position*, counting from 1."""
        approved = self.hash_at(position)
        return bool(approved) and audio_hash.startswith(approved)

    def hash_at(self, position: int) -> str:
        """The audio hash approved at *position*; '' if there is none."""
        return "".join(self.audio_hashes[position - 1 : position])

    def copy_at(self, position: int) -> CopyMarks:
        """Label copy approved at *position*; 0 for that of the release."""
        found = self.label_copy[position : position + 1]
        return found[0] if found else NOT_APPROVED

    def given_for(self, position: int) -> tuple[str, date]:
        """Who approved the track at *position*, and on which day."""
        named = (one for one in self.earlier if position in one.tracks)
        return next(((one.by, one.dated) for one in named), (self.by, self.dated))

    @property
    def tracks(self) -> tuple[int, ...]:
        """Positions of the tracks approved."""
        return tuple(position for position, found in enumerate(self.audio_hashes, start=1) if found)

    @property
    def label_copy_hash(self) -> str:
        """SHA-256 of the label copy approved; '' if the approval is about audio alone."""
        return _digest(self.label_copy) if self.label_copy else ""


@dataclass(frozen=True, slots=True)
class ApprovalState:
    """What a release file states as approved, beside the masters of a delivery: what the rule about it compares."""

    given: Approval | None
    audio_hashes: Mapping[int, str]
    """Of the masters now, by position; '' for one that cannot be read."""
    track_count: int
    """Tracks in the release file, whatever a spec receives of them."""


def seen_hash(marks: Iterable[CopyMarks]) -> str:
    """Twelve digits for the label copy of a sheet: of the release, then of each track on it."""
    return _digest(marks)[:12]


def _digest(marks: Iterable[CopyMarks]) -> str:
    stated = [[each.title, sorted(each.fields.items())] for each in marks]
    return hashlib.sha256(json.dumps(stated, ensure_ascii=False).encode("utf-8", "surrogatepass")).hexdigest()


def combined(before: Approval | None, new: Approval) -> Approval:
    """*new*, an approval of some or all tracks, with what *before* holds for the tracks it does not name."""
    if before is None:
        return new
    kept = [position for position in before.tracks if not new.hash_at(position) and position <= len(new.audio_hashes)]
    hashes = list(new.audio_hashes)
    marks = list(new.label_copy)
    for position in kept:
        hashes[position - 1] = before.hash_at(position)
        if marks:
            marks[position] = before.copy_at(position)
    if marks and marks[0] == NOT_APPROVED:
        marks[0] = before.copy_at(0)
    return replace(
        new, audio_hashes=tuple(hashes), label_copy=tuple(marks), earlier=tuple(_by_person(before, kept, new))
    )


def without(before: Approval | None, positions: Iterable[int]) -> Approval | None:
    """*before* without the tracks at *positions*, for which a change was requested; None if nothing is left."""
    if before is None:
        return None
    gone = set(positions)
    hashes = tuple("" if at in gone else found for at, found in enumerate(before.audio_hashes, start=1))
    marks = tuple(NOT_APPROVED if at in gone else found for at, found in enumerate(before.label_copy))
    left = replace(before, audio_hashes=hashes, label_copy=marks)
    if not left.tracks:
        return None
    named = ((one, tuple(at for at in one.tracks if at not in gone)) for one in before.earlier)
    earlier = tuple(replace(one, tracks=tracks) for one, tracks in named if tracks)
    own = [at for at in left.tracks if not any(at in one.tracks for one in earlier)]
    if own:
        return replace(left, earlier=earlier)
    return replace(left, by=earlier[-1].by, dated=earlier[-1].dated, earlier=earlier[:-1])


def _by_person(before: Approval, kept: Iterable[int], new: Approval) -> Iterable[Earlier]:
    groups: dict[tuple[str, date], list[int]] = {}
    for position in kept:
        groups.setdefault(before.given_for(position), []).append(position)
    for (by, dated), tracks in groups.items():
        if (by, dated) != (new.by, new.dated):
            yield Earlier(by, dated, tuple(tracks))
