"""A rule is data and a tiny generator. Schema, catalogue and plain sentences are made from this block."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from delivery.model.figure import Reading
from delivery.model.finding import NotMet, Weight
from delivery.rules.words import Keyed, Magnitude, Unit, Wording, edges_of, silent


@dataclass(frozen=True, slots=True)
class Unanswered:
    """What a rule yields when it could not look at one thing among several: a file of the album, say."""

    why: str
    place: str = ""


Judgement = Callable[..., Iterator[NotMet | Unanswered]]
Facts = Mapping[str, Reading]


def never(_facts: Facts) -> str:
    """For rules that concern every file."""
    return ""


class Scope(StrEnum):
    """How often a rule is asked, and what it may need."""

    TRACK = "track"
    """Once for each file: figures by name, and ``track``, ``release``, ``name`` (the file name to ship)."""
    RELEASE = "release"
    """Once for the release: ``release``, ``tracks`` (pairs of Track and its facts), ``artwork``, ``album``."""


@dataclass(frozen=True, slots=True)
class Rule:
    id: str
    """For ever: the key in a spec, in waivers and acceptances, in the catalogue and in all output."""
    limit: Mapping[str, Any]
    """JSON Schema (draft 2020-12) of the limit; closed objects only."""
    needs: tuple[str, ...]
    """Facts by name, in the order of the function's arguments; ``limit`` is always its last argument."""
    weight: Weight
    source: str
    sentence: str
    """One sentence for `explain`, with ``{limit}`` where the worded limit goes."""
    judge: Judgement
    limit_text: Wording
    """The limit in words; the only place where it is worded."""
    value_text: Callable[..., str] = silent
    """The facts in words, for a rule that is met; takes what ``needs`` names."""
    at: str = ""
    """Name of the figure that holds the time or times to look at; the answer does not depend on it."""
    aside: Callable[[Facts], str] = never
    """What makes this file none of the rule's business ('mono'); it is met then, and that is what was found."""
    scope: Scope = Scope.TRACK
    aided: tuple[str, ...] = ()
    """Facts that only make the answer fuller; they come between ``needs`` and the limit, None where missing."""

    def shown(self, values: Sequence[Any], limit: Any) -> str:
        """The facts in words where the rule is met; a number with as many decimals as show that it is."""
        if isinstance(self.value_text, Unit | Magnitude | Keyed):
            return self.value_text.within(values[0], *edges_of(limit))
        return self.value_text(*values)

    @property
    def subject(self) -> str:
        """The module it stands in: container, level, loudness ..."""
        return self.judge.__module__.rpartition(".")[2]

    @property
    def doc(self) -> str:
        """What the catalogue says about it."""
        return " ".join((self.judge.__doc__ or "").split())


def rule(
    *,
    id: str,
    limit: Mapping[str, Any],
    needs: tuple[str, ...],
    weight: Weight,
    source: str,
    sentence: str,
    limit_text: Wording,
    value_text: Callable[..., str] = silent,
    at: str = "",
    aside: Callable[[Facts], str] = never,
    scope: Scope = Scope.TRACK,
    aided: tuple[str, ...] = (),
) -> Callable[[Judgement], Rule]:
    """Turn a generator of shortfalls into a Rule; its docstring is the catalogue's description."""

    def made(judgement: Judgement) -> Rule:
        return Rule(
            id, limit, needs, weight, source, sentence, judgement, limit_text, value_text, at, aside, scope, aided
        )

    return made
