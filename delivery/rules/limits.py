"""JSON Schemas of limits (draft 2020-12), every object closed. The description states the unit."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from delivery.rules.words import Unit

Schema = dict[str, Any]

LONGEST_S = 360_000
"""100 hours: a longer time in a spec is a mistake, such as milliseconds for seconds."""
LARGEST_PX = 30_000
"""No recipient accepts a larger picture."""
LOWEST_DBFS = -70
"""A ceiling or window below the absolute gate of BS.1770 is a mistake."""

FLAG: Schema = {"const": True, "description": "true; write ~ as the value to remove a parent's requirement"}


def number(unit: Unit, *, minimum: float | None = None, maximum: float | None = None) -> Schema:
    """JSON Schema of a number in *unit*."""
    return _bounded("number", unit, minimum, maximum)


def count(unit: Unit, *, minimum: int = 0, maximum: int | None = None) -> Schema:
    """JSON Schema of a whole number in *unit*."""
    return _bounded("integer", unit, minimum, maximum)


def window(unit: Unit, *, minimum: float | None = None, maximum: float | None = None, target: bool = False) -> Schema:
    """``at_least``, ``at_most`` or both; ``target`` is the aim of a gain step. Order is checked when a spec is read."""
    edge = number(unit, minimum=minimum, maximum=maximum)
    aim = ", and target where gain aims" if target else ""
    return {
        "type": "object",
        "description": f"window in {unit.name}: at_least, at_most or both{aim}",
        "properties": {"at_least": edge, "at_most": edge} | ({"target": edge} if target else {}),
        "anyOf": [{"required": ["at_least"]}, {"required": ["at_most"]}],
        "additionalProperties": False,
    }


def some(items: Schema, description: str) -> Schema:
    """A list of at least one unique entry; the description states whether the order matters."""
    return {"type": "array", "items": items, "minItems": 1, "uniqueItems": True, "description": description}


def _bounded(kind: str, unit: Unit, minimum: float | None, maximum: float | None) -> Schema:
    limits = {"minimum": minimum, "maximum": maximum}
    return {"type": kind, "description": unit.name or "a plain number"} | {
        key: value for key, value in limits.items() if value is not None
    }


def outside(value: float, window: Mapping[str, float]) -> float:
    """How far *value* is above (positive) or below (negative) the window; 0 inside it."""
    if value > window.get("at_most", value):
        return value - window["at_most"]
    return min(0.0, value - window.get("at_least", value))


def edges(window: Mapping[str, float]) -> tuple[float, ...]:
    """The bounds that the window states."""
    return tuple(window[key] for key in ("at_least", "at_most") if key in window)
