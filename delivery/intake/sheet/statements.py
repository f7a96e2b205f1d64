"""Statements of a sheet and of a release file, the result of merging them, and when two of them mean the same. Pure."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import Enum, auto
from typing import Any

from delivery.model.codes import CODES

RELEASE = ""
"""Stands for the release, in place of a track's file name."""
PEOPLE = ("writers", "composers", "lyricists")
"""One statement if any of the three versions has writers with shares, since they name composers and lyricists too."""
LISTS = ("artists", "credits", "composers", "lyricists", "publishers", "territories")
"""Compared name by name: two different names added in the two versions do not conflict."""

Values = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Stated:
    """Values stated by a sheet, or by the masters alone, by key of the release file."""

    release: Values
    tracks: Mapping[str, Values]
    """By the name of the file, in order."""
    columns_of: Mapping[str, frozenset[str]] = field(default_factory=dict)
    """By file ('' for the release): keys left empty on purpose, if `tracks` has no value for them."""
    without_file: tuple[Values, ...] = ()
    """Rows without a file: their tracks, if in the release file, are not removed."""


class Verdict(Enum):
    """Which value is used."""

    TAKEN = auto()
    """The sheet's value is taken."""
    KEPT = auto()
    """The file's value is kept and differs from the sheet's."""
    CONFLICT = auto()
    """Both have changed, differently."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """Result for one statement on which sheet and file disagree."""

    where: str
    """File of the track; '' for the release."""
    key: str
    verdict: Verdict
    before: Any
    sheet: Any
    file: Any
    now: Any
    """New value in the release file."""
    also: Values = field(default_factory=dict)
    """Further keys that change with it."""


@dataclass(frozen=True, slots=True)
class Plan:
    """The merge of a sheet into a release file, value by value."""

    outcomes: tuple[Outcome, ...]
    order: tuple[str, ...]
    """Keys of the files of the merged release's tracks; of a renamed one the old file's. Everywhere else are names."""
    renamed: Mapping[str, str]
    """Old file -> new file of the same recording: a new bounce."""
    added: tuple[str, ...]
    removed: tuple[str, ...]
    stays_out: tuple[str, ...]
    """On the sheet, but removed from the release file by hand."""
    confirmed: tuple[tuple[str, str], ...]
    """File and key of guesses that the sheet settles."""

    def taken(self) -> tuple[Outcome, ...]:
        """Values taken from the sheet."""
        return tuple(one for one in self.outcomes if one.verdict is Verdict.TAKEN)

    def conflicts(self) -> tuple[Outcome, ...]:
        """Values that changed differently in both."""
        return tuple(one for one in self.outcomes if one.verdict is Verdict.CONFLICT)


Decide = Callable[[Outcome], bool | None]
"""A conflict -> True for the sheet's value, False for the file's, None if undecided."""


def file_key(name: str) -> str:
    """Key of a file, independent of case, slashes and accent encoding."""
    return unicodedata.normalize("NFC", name.replace("\\", "/")).casefold().strip().removeprefix("./")


def same(key: str, one: Any, other: Any) -> bool:
    """True if two notations mean the same: hyphens of codes, a name and {name: ..., role: main}."""
    return bool(canonical(key, one) == canonical(key, other))


def canonical(key: str, value: Any) -> Any:
    """*value* in a normal form, equal for equal meaning; None for anything that counts as not supplied."""
    if isinstance(value, str):
        text = unicodedata.normalize("NFC", value).strip()
        return (re.sub(r"[^0-9A-Z]", "", text.upper()) if key in (*CODES, "upc", "code") else text) or None
    if isinstance(value, Mapping):
        defaults: dict[str, Any] = {"role": "main"} if "name" in value and key in ("artists", "credits") else {}
        defaults |= {"roles": ["composer"]} if key == "writers" else {}
        known = {inner: canonical(inner, data) for inner, data in {**defaults, **value}.items()}
        return tuple(sorted((inner, data) for inner, data in known.items() if data is not None)) or None
    if isinstance(value, (list, tuple)):
        named = [{"name": one} if isinstance(one, str) and key in ("artists", "credits") else one for one in value]
        return tuple(canonical(key, one) for one in named) or (() if key == "samples" else None)
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value
