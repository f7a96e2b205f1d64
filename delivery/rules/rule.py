"""A rule is data and a small generator. Schema, catalogue and plain sentences are generated from it."""

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
    """Yielded by a rule that could not check one of several things: a file of the album, for example."""

    why: str
    place: str = ""


Judgement = Callable[..., Iterator[NotMet | Unanswered]]
Facts = Mapping[str, Reading]


def never(_facts: Facts) -> str:
    """For rules that apply to every file."""
    return ""


class Scope(StrEnum):
    """How often a rule runs, and the facts available to it."""

    TRACK = "track"
    """Once for each file: figures by name, and ``track``, ``release``, ``name`` (the file name to ship)."""
    RELEASE = "release"
    """Once for the release: ``release``, ``tracks`` (pairs of Track and its facts), ``artwork``, ``album``."""


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule: its limit, the figures it needs, and the function that checks them."""

    id: str
    """Permanent id: the key in a spec, in waivers and acceptances, in the catalogue and in all output."""
    limit: Mapping[str, Any]
    """JSON Schema (draft 2020-12) of the limit; closed objects only."""
    needs: tuple[str, ...]
    """Facts by name, in the order of the function's arguments; ``limit`` is always the last."""
    weight: Weight
    source: str
    sentence: str
    """One sentence for `explain`, with ``{limit}`` in place of the worded limit."""
    judge: Judgement
    limit_text: Wording
    """The limit in words; worded only here."""
    value_text: Callable[..., str] = silent
    """The facts in words, for a rule that is met; takes the values of ``needs``."""
    at: str = ""
    """Name of the figure with the time or times to look at; it does not affect the answer."""
    aside: Callable[[Facts], str] = never
    """Why the rule does not apply to this file ('mono'); it is met then, with this reason."""
    scope: Scope = Scope.TRACK
    aided: tuple[str, ...] = ()
    """Optional facts that make the answer fuller; passed between ``needs`` and the limit, None if missing."""

    def shown(self, values: Sequence[Any], limit: Any) -> str:
        """The facts in words for a rule that is met, with as many decimals as needed to show it."""
        if isinstance(self.value_text, Unit | Magnitude | Keyed):
            return self.value_text.within(values[0], *edges_of(limit))
        return self.value_text(*values)

    @property
    def subject(self) -> str:
        """The module of the rule: container, level, loudness ..."""
        return self.judge.__module__.rpartition(".")[2]

    @property
    def doc(self) -> str:
        """Its description in the catalogue."""
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
    """Turn a generator of findings into a Rule; its docstring is the catalogue's description."""

    def made(judgement: Judgement) -> Rule:
        return Rule(
            id, limit, needs, weight, source, sentence, judgement, limit_text, value_text, at, aside, scope, aided
        )

    return made
