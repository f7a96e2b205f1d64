"""Limits as schemas: what a spec may state, by the schema's own validator. Distances from a window."""

from __future__ import annotations

from typing import Any

import pytest
from jsonschema import Draft202012Validator

from delivery.rules.limits import FLAG, count, edges, number, outside, some, window
from delivery.rules.words import DBTP, PLAIN, Unit

WINDOW = window(DBTP, minimum=-70, maximum=0)
AIMED = window(DBTP, minimum=-70, maximum=0, target=True)


@pytest.mark.parametrize(
    ("schema", "limit", "accepted"),
    [
        (number(DBTP, minimum=-70, maximum=0), 0, True),
        (number(DBTP, minimum=-70, maximum=0), -70, True),
        (number(DBTP, minimum=-70, maximum=0), 0.1, False),
        (number(DBTP, minimum=-70, maximum=0), -70.1, False),
        (number(DBTP), 1e9, True),
        (number(DBTP), "-1", False),
        (count(Unit("runs", 0)), 0, True),
        (count(Unit("runs", 0)), -1, False),
        (count(Unit("runs", 0)), 1.5, False),
        (count(Unit("runs", 0), maximum=9), 10, False),
        (WINDOW, {"at_least": -70}, True),
        (WINDOW, {"at_most": 0}, True),
        (WINDOW, {"at_least": -23, "at_most": -18}, True),
        (WINDOW, {}, False),
        (WINDOW, {"at_most": 0.1}, False),
        (WINDOW, {"at_least": -70.1}, False),
        (WINDOW, {"at_most": -1, "target": -2}, False),
        (WINDOW, {"at_most": -1, "best": -2}, False),
        (AIMED, {"at_most": -1, "target": -2}, True),
        (AIMED, {"at_most": -1, "target": 0.1}, False),
        (AIMED, {"target": -2}, False),
        (some({"enum": ["a", "b"]}, "letters"), ["a"], True),
        (some({"enum": ["a", "b"]}, "letters"), [], False),
        (some({"enum": ["a", "b"]}, "letters"), ["a", "a"], False),
        (some({"enum": ["a", "b"]}, "letters"), ["c"], False),
        (some({"enum": ["a", "b"]}, "letters"), "a", False),
        (FLAG, True, True),
        (FLAG, False, False),
    ],
)
def test_limits_that_a_spec_may_state(schema: dict[str, Any], limit: Any, accepted: bool) -> None:
    Draft202012Validator.check_schema(schema)
    assert Draft202012Validator(schema).is_valid(limit) is accepted


@pytest.mark.parametrize(
    ("schema", "description"),
    [
        (number(DBTP), "dBTP"),
        (number(PLAIN), "a plain number"),
        (count(Unit("runs", 0)), "runs"),
        (WINDOW, "window in dBTP: at_least, at_most or both"),
        (AIMED, "window in dBTP: at_least, at_most or both, and target where gain aims"),
        (some({}, "letters"), "letters"),
    ],
)
def test_a_description_states_the_unit(schema: dict[str, Any], description: str) -> None:
    assert schema["description"] == description


@pytest.mark.parametrize(
    ("value", "limit", "off"),
    [
        (-17.0, {"at_least": -23.0, "at_most": -18.0}, 1.0),
        (-18.0, {"at_least": -23.0, "at_most": -18.0}, 0.0),
        (-20.0, {"at_least": -23.0, "at_most": -18.0}, 0.0),
        (-23.0, {"at_least": -23.0, "at_most": -18.0}, 0.0),
        (-25.0, {"at_least": -23.0, "at_most": -18.0}, -2.0),
        (-25.0, {"at_most": -18.0}, 0.0),
        (-17.0, {"at_least": -23.0}, 0.0),
        (-24.0, {"at_least": -23.0}, -1.0),
    ],
)
def test_how_far_a_value_is_outside_a_window(value: float, limit: dict[str, float], off: float) -> None:
    assert outside(value, limit) == off


def test_the_edges_are_those_stated_the_lower_one_first() -> None:
    assert edges({"target": -20.0, "at_most": -18.0, "at_least": -23.0}) == (-23.0, -18.0)
    assert edges({"at_most": -18.0}) == (-18.0,)
