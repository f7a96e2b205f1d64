"""Which cases of long tests an ordinary run takes: enough to see a fault, few enough to be run before every change."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import pytest


def chosen(items: Sequence[pytest.Item]) -> set[pytest.Item]:
    """All items but those that ``@pytest.mark.thorough(N)`` leaves out: it keeps N cases of each test, evenly spread.

    Without a number it keeps none. The first and the last case are kept where N is 2 or more.
    """
    cases: dict[str, list[pytest.Item]] = defaultdict(list)
    for item in items:
        cases[item.nodeid.partition("[")[0]].append(item)
    return {item for group in cases.values() for item in _kept(group)}


def _kept(group: list[pytest.Item]) -> list[pytest.Item]:
    mark = group[0].get_closest_marker("thorough")
    if mark is None:
        return group
    most = mark.args[0] if mark.args else 0
    return [group[place] for place in evenly(len(group), most)]


def evenly(count: int, most: int) -> list[int]:
    """At most *most* of the places 0 to *count* - 1, evenly spread; the middle one if it is one."""
    if most >= count:
        return list(range(count))
    if most == 1:
        return [count // 2]
    return [round(number * (count - 1) / (most - 1)) for number in range(most)]
