"""Finding: one rule's answer about one file or the release. A missing answer is never a pass."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


class Weight(StrEnum):
    """Certainty of a rule. Only a fact can fail a file."""

    FACT = "fact"
    STRONG_SIGN = "strong sign"
    WEAK_SIGN = "weak sign"


class Answer(StrEnum):
    """Result of one check."""

    MET = "met"
    ACCEPTED = "accepted"
    """A remark accepted by a person, for exactly this audio."""
    WAIVED = "waived"
    NOT_MET = "not met"
    NOT_MEASURED = "not measured"


class Result(StrEnum):
    """The summary of many answers, best first; the worst one wins."""

    READY = "ready"
    REMARKS = "ready with remarks"
    NOT_READY = "not ready"
    UNUSABLE = "unusable"


@dataclass(frozen=True, slots=True)
class NotMet:
    """Yielded by a rule for a requirement that is not met: found, wanted, and the exact remedy."""

    found: str
    wanted: str
    remedy: str
    place: str = ""
    """Line of the release file for label copy; empty for audio."""
    at_s: tuple[float, ...] = ()
    """Times to look or listen at, seconds from the file's start."""
    track: int | None = None
    """Position of the track it is about, for a rule about the release that compares track by track."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One rule's answer; a rule that is not met in several ways gives several findings."""

    rule: str
    spec: str
    track: int | None
    """Position on the release; None: the release itself."""
    answer: Answer
    must: bool
    weight: Weight
    found: str = ""
    wanted: str = ""
    remedy: str = ""
    why: str = ""
    """Why it could not be measured, or who waived or accepted it and why."""
    place: str = ""
    at_s: tuple[float, ...] = ()
    source: str = ""
    subject: str = ""
    """What the rule is about: 'loudness', 'label_copy' ..."""

    @property
    def result(self) -> Result:
        """Effect of this answer on the summary."""
        if self.answer in (Answer.MET, Answer.ACCEPTED):
            return Result.READY
        if self.answer is Answer.WAIVED or not self.must or self.weight is not Weight.FACT:
            return Result.REMARKS
        return Result.NOT_READY


def worst(results: Iterable[Result]) -> Result:
    """The summary of many results; of none, 'ready'."""
    order = list(Result)
    return max(results, key=order.index, default=Result.READY)
