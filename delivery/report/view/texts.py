"""Every text that a view holds: what a sheet may have to print. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import Any


def words_of(noun: Any) -> Iterator[str]:
    """Every text in a view, however deep; the raw delivery it carries is not for print."""
    if isinstance(noun, str):
        yield noun
    elif isinstance(noun, tuple):
        for item in noun:
            yield from words_of(item)
    elif is_dataclass(noun):
        for field in fields(noun):
            if field.name != "delivery":
                yield from words_of(getattr(noun, field.name))
