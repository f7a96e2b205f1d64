"""Which figures a limit bounds, and from which side: found by evaluating the rule itself. Pure."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace
from typing import Any

from delivery.model.bounds import Bound
from delivery.model.finding import NotMet
from delivery.model.spec import Spec
from delivery.rules.rule import Rule
from delivery.rules.verdict import rules
from delivery.rules.words import edges_of

NEAR = 1e-9
"""Distance tested beside an edge, as a share of it or at least this much: far less than any printed digit."""


def bounded(spec: Spec, numbers: Collection[str]) -> Spec:
    """*spec* with the bounds of its requirements filled in.

    Parameters
    ----------
    numbers : names of the figures that are single numbers
    """
    known_rules = rules()
    return replace(
        spec,
        requirements=tuple(
            replace(each, bounds=tuple(bounds(known_rules[each.rule], each.limit, numbers)))
            if each.rule in known_rules
            else each
            for each in spec.requirements
        ),
    )


def bounds(rule: Rule, limit: Any, numbers: Collection[str]) -> Iterator[Bound]:
    """The edges at which *rule* changes its answer about a figure; a limit on a magnitude has two."""
    edges = list(edges_of(limit))
    for need in rule.needs:
        if need in numbers:
            for edge in dict.fromkeys((*edges, *(-edge for edge in edges))):
                yield from _at(rule, need, edge, limit)


def _at(rule: Rule, need: str, edge: float, limit: Any) -> Iterator[Bound]:
    near = max(NEAR, abs(edge) * NEAR)
    if not _short(rule, need, edge, limit):
        for from_above, beyond in ((True, edge + near), (False, edge - near)):
            if _short(rule, need, beyond, limit):
                yield Bound(need, edge, from_above)


def _short(rule: Rule, need: str, value: float, limit: Any) -> bool:
    values = [value if name == need else 0 for name in rule.needs]
    aids = [None] * len(rule.aided)
    return any(isinstance(answer, NotMet) for answer in rule.judge(*values, *aids, limit))
