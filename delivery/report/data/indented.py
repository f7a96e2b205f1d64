"""JSON with an indent of two blanks, as `json.dumps` sets it, at the speed of its compiled encoder.

The standard library encodes with an indent in Python, number by number. Here the compiled encoder sets every list and
object that holds no other, with the line break and the blanks of its depth as separator; and tables of numbers as one.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from itertools import chain
from typing import Any

_CONTAINERS = {dict, list, tuple}
_NUMBERS = {int, float, bool, type(None)}


def indented(value: Any) -> str:
    """*value* as ``json.dumps(value, ensure_ascii=False, allow_nan=False, indent=2, sort_keys=True)`` gives it.

    Parameters
    ----------
    value : plain dicts with texts as keys, lists, tuples, texts, numbers, True, False and None

    Raises
    ------
    ValueError : a number is not finite
    TypeError : a value of another type
    """
    return "".join(_pieces(value, "\n"))


def _pieces(value: Any, margin: str) -> Iterator[str]:
    """Pieces of text; *margin* is a line break and the blanks before the end of *value*."""
    inner = f"{margin}  "
    if not value or not isinstance(value, dict | list | tuple):
        yield _encoder(inner).encode(value)
    elif _CONTAINERS.isdisjoint(map(type, value.values() if isinstance(value, dict) else value)):
        flat = _encoder(inner).encode(value)
        yield f"{flat[0]}{inner}{flat[1:-1]}{margin}{flat[-1]}"
    elif isinstance(value, dict):
        for at, key in enumerate(sorted(value)):
            yield f"{',' if at else '{'}{inner}{_encoder(inner).encode(key)}: "
            yield from _pieces(value[key], inner)
        yield margin + "}"
    elif _is_table(value):
        deep = f"{inner}  "
        rows = _encoder(deep).encode(value)[2:-2].replace(f"],{deep}[", f"{inner}],{inner}[{deep}")
        yield f"[{inner}[{deep}{rows}{inner}]{margin}]"
    else:
        for at, each in enumerate(value):
            yield f"{',' if at else '['}{inner}"
            yield from _pieces(each, inner)
        yield margin + "]"


def _is_table(value: list[Any] | tuple[Any, ...]) -> bool:
    """True for rows of numbers, none of them empty: no bracket of their text belongs to a string."""
    return all(value) and {list, tuple}.issuperset(map(type, value)) and _NUMBERS.issuperset(map(type, chain(*value)))


@cache
def _encoder(inner: str) -> json.JSONEncoder:
    return json.JSONEncoder(ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(f",{inner}", ": "))
