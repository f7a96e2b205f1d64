"""A rule is data and a tiny generator. Schema, catalogue and plain sentences are made from this block."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from delivery.model.finding import Shortfall, Weight

Judgement = Callable[..., Iterator[Shortfall]]


class Scope(StrEnum):
    """How often a rule is asked, and what it may need."""

    TRACK = "track"
    """Once for each file: figures by name, and ``track``, ``release``, ``name`` (the file name to ship)."""
    RELEASE = "release"
    """Once for the release: ``release``, ``tracks`` (pairs of Track and its facts), ``artwork``, ``album``."""


@dataclass(frozen=True, slots=True)
class Rule:
    id: str
    """For ever; subject words only, such as 'true-peak-ceiling'."""
    asks: str
    """The spec's key that switches it on."""
    limit: Mapping[str, Any]
    """JSON Schema (draft 2020-12) of the limit; closed objects only."""
    needs: tuple[str, ...]
    """Facts by name, in the order of the function's arguments; ``limit`` is always its last argument."""
    weight: Weight
    source: str
    says: str
    """One sentence for `explain`, with ``{limit}`` where the limit goes."""
    judge: Judgement
    scope: Scope = Scope.TRACK

    @property
    def subject(self) -> str:
        """The module it stands in: container, level, loudness ..."""
        return self.judge.__module__.rpartition(".")[2]


def rule(
    *,
    id: str,
    asks: str,
    limit: Mapping[str, Any],
    needs: tuple[str, ...],
    weight: Weight,
    source: str,
    says: str,
    scope: Scope = Scope.TRACK,
) -> Callable[[Judgement], Rule]:
    """Turn a generator of shortfalls into a Rule; its docstring is the catalogue's description."""

    def made(judgement: Judgement) -> Rule:
        return Rule(id, asks, limit, needs, weight, source, says, judgement, scope)

    return made
