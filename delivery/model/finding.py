"""Finding: one rule's answer about one file or the release. A missing answer is never a pass."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from delivery.model.answer import Answer as Answer
from delivery.model.answer import Instrument as Instrument
from delivery.model.answer import Result as Result
from delivery.model.answer import Weight as Weight


@dataclass(frozen=True, slots=True)
class NotMet:
    """Yielded by a rule for a requirement that is not met: found, wanted, and the exact remedy.

    The remedy is what mends the file or the label copy; the waiver or acceptance that exists is added to it in print.
    """

    found: str
    wanted: str
    remedy: str
    place: str = ""
    """Line of the release file for label copy; empty for audio."""
    at_s: tuple[float, ...] = ()
    """Times to look or listen at, seconds from the file's start."""
    track: int | None = None
    """Position of the track it is about, for a rule about the release that compares track by track."""
    settled_if: str | None = ""
    """When it may be waived or accepted instead: 'if one is meant to be silent'; empty: at a person's discretion; None:
    the remedy alone settles it."""
    excess_db: float = 0.0
    """Of a level above its limit: how far; of several findings about one level the largest is printed."""


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
    instrument: Instrument = Instrument.NONE
    """Named in the remedy: accept for a remark about one file's audio, waive for any other requirement."""
    excess_db: float = 0.0
    """See `NotMet.excess_db`."""

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
