"""Items by a key, found in one pass. Pure."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from typing import TypeVar

Item = TypeVar("Item")
Key = TypeVar("Key", bound=Hashable)


def grouped(items: Iterable[Item], key: Callable[[Item], Key]) -> dict[Key, tuple[Item, ...]]:
    """The items of each key, keys and items in the order in which they first come."""
    found: dict[Key, list[Item]] = {}
    for item in items:
        found.setdefault(key(item), []).append(item)
    return {each: tuple(own) for each, own in found.items()}
