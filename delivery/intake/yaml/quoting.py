"""Write texts as YAML that every reader takes for exactly that text. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

CONTROLS = "\x00-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff\ud800-\udfff"
"""Characters that YAML does not print (YAML 1.2.2, 5.1) or that break lines; joiners and directional marks are text."""
NO_TEXT = re.compile(f"[{CONTROLS}]+")
_ESCAPED = re.compile(f'["\\\\{CONTROLS}]')


def quoted(text: str) -> str:
    """In double quotes on one line; what YAML does not print is escaped (YAML 1.2.2, chapters 5.1 and 5.7)."""
    return '"' + _ESCAPED.sub(_escape, text) + '"'


def _escape(sign: re.Match[str]) -> str:
    return f"\\{sign[0]}" if sign[0] in '"\\' else f"\\u{ord(sign[0]):04x}"


def one_line(text: str) -> str:
    """*text* without line breaks and control characters, which a tag may hold but a release file may not."""
    return NO_TEXT.sub(" ", text).strip()


def scalar(value: str | int | float | bool) -> str:
    """*value* as a YAML scalar."""
    if isinstance(value, str):
        return quoted(value)
    return str(value).lower() if isinstance(value, bool) else str(value)


def value(data: Any) -> str:
    """Plain data on one line, as YAML in braces and brackets."""
    if isinstance(data, Mapping):
        return "{" + ", ".join(f"{key}: {value(inner)}" for key, inner in data.items()) + "}"
    if isinstance(data, (list, tuple)):
        return "[" + ", ".join(map(value, data)) + "]"
    if isinstance(data, float) and data.is_integer():
        return str(int(data))
    return "~" if data is None else scalar(data)


def flow(values: Mapping[str, str | int]) -> str:
    """'{rule: "a", track: 3}'."""
    return "{" + ", ".join(f"{key}: {scalar(value)}" for key, value in values.items()) + "}"


def as_json(values: Mapping[str, str | int]) -> str:
    """As `flow`, with the keys in quotes too."""
    return "{" + ", ".join(f"{quoted(key)}: {scalar(value)}" for key, value in values.items()) + "}"


def block_item(values: Mapping[str, str | int], indent: int) -> list[str]:
    """'- rule: "a"' and its further keys below, without line ends."""
    blanks = " " * indent
    pairs = [f"{key}: {scalar(value)}" for key, value in values.items()]
    return [f"{blanks}- {pairs[0]}", *(f"{blanks}  {pair}" for pair in pairs[1:])]
