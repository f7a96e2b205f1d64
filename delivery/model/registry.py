"""Registration by folder: scan a package, sort, refuse duplicates."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable, Hashable, Iterable, Iterator
from types import ModuleType
from typing import TypeVar

Member = TypeVar("Member")


def modules(package: ModuleType) -> Iterator[ModuleType]:
    """Import every module of *package*, in the order of names that pkgutil gives; a failed import is raised."""
    for info in pkgutil.iter_modules(package.__path__):
        yield importlib.import_module(f"{package.__name__}.{info.name}")


def register(members: Iterable[Member], key: Callable[[Member], Hashable]) -> dict[str, Member]:
    """Members by key, sorted by key.

    Raises
    ------
    ValueError : two members claim one key
    """
    found: dict[str, Member] = {}
    for member in members:
        name = str(key(member))
        if name in found:
            raise ValueError(f"two members are called {name!r}: {found[name]!r} and {member!r}")
        found[name] = member
    return dict(sorted(found.items()))
