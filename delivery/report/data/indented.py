"""JSON with an indent of two blanks, as `json.dumps` sets it, at the speed of its compiled encoder.

The standard library encodes with an indent in Python, number by number. Here the compiled encoder sets all neighbours
that hold no others, with the line break and the blanks of their depth as separator; and tables of numbers as one.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import cache
from itertools import chain, groupby
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
    pieces: list[str] = []
    _put(value, "\n", pieces.append)
    return "".join(pieces)


def _put(value: Any, margin: str, put: Callable[[str], None]) -> None:
    """Hand *value* on in pieces of text; *margin* is a line break and the blanks before its end."""
    inner = f"{margin}  "
    if not _is_deep(value):
        put(_encoder(inner).encode(value))
    elif _CONTAINERS.isdisjoint(map(type, filter(None, value.values() if isinstance(value, dict) else value))):
        flat = _encoder(inner).encode(value)
        put(f"{flat[0]}{inner}{flat[1:-1]}{margin}{flat[-1]}")
    elif isinstance(value, dict):
        _put_mixed(value, margin, put)
    elif _is_table(value):
        deep = f"{inner}  "
        rows = _encoder(deep).encode(value)[2:-2].replace(f"],{deep}[", f"{inner}],{inner}[{deep}")
        put(f"[{inner}[{deep}{rows}{inner}]{margin}]")
    else:
        for at, each in enumerate(value):
            put(f"{',' if at else '['}{inner}")
            _put(each, inner, put)
        put(f"{margin}]")


def _put_mixed(value: dict[str, Any], margin: str, put: Callable[[str], None]) -> None:
    """Of a dict, values that hold others one by one, and what lies between them together."""
    inner = f"{margin}  "
    encode, before = _encoder(inner).encode, f"{{{inner}"
    for are_deep, keys in groupby(sorted(value), key=lambda key: _is_deep(value[key])):
        if not are_deep:
            put(f"{before}{encode({key: value[key] for key in keys})[1:-1]}")
            before = f",{inner}"
            continue
        for key in keys:
            put(f"{before}{encode(key)}: ")
            before = f",{inner}"
            _put(value[key], inner, put)
    put(f"{margin}}}")


def _is_deep(value: Any) -> bool:
    """True for what goes over several lines: an empty list or object does not."""
    return bool(value) and isinstance(value, dict | list | tuple)


def _is_table(value: list[Any] | tuple[Any, ...]) -> bool:
    """True for rows of numbers, none of them empty: no bracket of their text belongs to a string."""
    return all(value) and {list, tuple}.issuperset(map(type, value)) and _NUMBERS.issuperset(map(type, chain(*value)))


@cache
def _encoder(inner: str) -> json.JSONEncoder:
    return json.JSONEncoder(ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(f",{inner}", ": "))
