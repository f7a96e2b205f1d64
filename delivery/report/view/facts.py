"""Facts that were not supplied, gathered into one line. Pure."""

from __future__ import annotations

from collections.abc import Iterable

from delivery.report.view import words
from delivery.report.view.elements import Fact

MISSING = "Not supplied"


def gathered(facts: Iterable[Fact]) -> tuple[Fact, ...]:
    """What is known, then the labels of what is not supplied or not stated as one fact; may be gathered again."""
    known, missing = [], []
    for fact in facts:
        if fact.label == MISSING:
            missing.append(fact.value)
        elif fact.value in (words.NOT_SUPPLIED, words.NOT_STATED):
            missing.append(fact.label)
        else:
            known.append(fact)
    return (*known, Fact(MISSING, ", ".join(missing), wide=True)) if missing else tuple(known)
