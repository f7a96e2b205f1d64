"""Paths of the shipped spec files and schemas, installed or in a checkout."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

from delivery.errors import Unusable

PACKAGE = Path(__file__).resolve().parents[1]


def shipped(name: str, package: Path = PACKAGE) -> Path:
    """Path of *name* in the specs folder: inside the package when installed, beside it in a checkout.

    An editable install lacks the files of a wheel, so both places are tried.

    Raises
    ------
    Unusable : it is in neither place; the installation is incomplete
    """
    places = (package / "specs" / name, package.parent / "specs" / name)
    found = next((place for place in places if place.exists()), None)
    if found is None:
        raise Unusable(name, "no such file", "a file of the shipped specs folder", "Install the program again.")
    return found


@cache
def shipped_schema(name: str) -> dict[str, Any]:
    """A JSON Schema of the specs folder; cached, so do not modify it."""
    schema: dict[str, Any] = json.loads(shipped(name).read_text(encoding="utf-8"))
    return schema
