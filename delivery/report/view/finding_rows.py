"""Data types of what was found: findings, waivers, acceptances, the QC log."""

from __future__ import annotations

from dataclasses import dataclass

from delivery.model.finding import Instrument
from delivery.report.view.elements import Verdict


@dataclass(frozen=True, slots=True)
class Notice:
    """An answer that is not 'met', once for all the specs that gave the same."""

    track: str
    """'3', or 'release'; '1 to 13' where it is about several."""
    position: int | None
    rule: str
    verdict: Verdict
    bearing: str
    """'must', 'should', or 'sign, not proof'."""
    specs: tuple[str, ...]
    """Titles."""
    found: str = ""
    wanted: str = ""
    remedy: str = ""
    why: str = ""
    place: str = ""
    """Times to listen at, or what it is about: a disc or side, a tag."""
    line: str = ""
    """Line of the release file; for the engineer alone, so no paper prints it."""
    refuses: bool = False
    """True if it keeps a file from being ready."""
    at_s: tuple[float, ...] = ()
    """Times to listen at, in seconds to the tenth."""
    tracks: int = 1
    """How many tracks it is about."""
    subject: str = ""
    """Of its rule: 'loudness', 'label_copy' ..."""
    instrument: Instrument = Instrument.NONE
    """What the remedy names: accept or waive."""
    excess_db: float = 0.0
    """Of a level above its limit: how far."""

    @property
    def line_and_place(self) -> str:
        """Where the engineer looks: 'release.yaml:14', '1:23.4, 2:05.0'."""
        return ", ".join(filter(None, (self.line, self.place)))


@dataclass(frozen=True, slots=True)
class WaivedRow:
    """A waived check."""

    what: str
    track: str
    specs: str
    by: str
    why: str


@dataclass(frozen=True, slots=True)
class AcceptedRow:
    """An accepted remark."""

    track: str
    position: int | None
    """Current position of its audio; None if it is no longer on the release."""
    rule: str
    found: str
    """The finding of the rule; or why the acceptance does not apply."""
    specs: str
    by: str
    why: str


@dataclass(frozen=True, slots=True)
class LogRow:
    """A line of the QC log."""

    track: str
    position: int | None
    time: str
    """'1:23.450', 'throughout'."""
    at_s: float | None
    channel: str
    what: str
    decision: str
    by: str
