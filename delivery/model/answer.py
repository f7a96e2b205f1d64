"""What a rule can answer, how sure it is, and what settles it. Measuring alone needs no more of findings."""

from __future__ import annotations

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


class Instrument(StrEnum):
    """What settles a finding without a new file or other label copy; the value ends its remedy."""

    NONE = ""
    ACCEPT = "accept it"
    WAIVE = "a waiver"
