"""Positions in a text file, and values as messages show them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from delivery.errors import Unusable

LONGEST_SHOWN = 80


def step_into(pointer: str, key: str | int) -> str:
    """The pointer of a value inside *pointer*; '~' and '/' in keys are escaped as in RFC 6901."""
    step = str(key).replace("~", "~0").replace("/", "~1")
    return f"{pointer}/{step}" if pointer else step


def line_at(lines: Mapping[str, int], pointer: str) -> int | None:
    """Line of the value at *pointer*, or of its nearest container; None in a file without lines."""
    at = pointer
    while at and at not in lines:
        at = at.rpartition("/")[0]
    return lines.get(at)


def place_of(file_name: str, lines: Mapping[str, int], pointer: str) -> str:
    """'release.yaml:14 tracks 3 isrc': list items count from 1, as people do."""
    line = line_at(lines, pointer)
    where = file_name if line is None else f"{file_name}:{line}"
    return f"{where} {spoken(pointer)}".rstrip()


def spoken(pointer: str) -> str:
    """'tracks/2/isrc' as 'tracks 3 isrc'."""
    steps = (step.replace("~1", "/").replace("~0", "~") for step in pointer.split("/"))
    return " ".join(str(int(step) + 1) if step.isdecimal() else shortened(step) for step in steps)


class Located(NamedTuple):
    """A fault with the line and pointer by which faults are sorted."""

    line: int
    pointer: str
    fault: Unusable


def located(file_name: str, lines: Mapping[str, int], pointer: str, found: str, wanted: str, remedy: str) -> Located:
    """A fault with the line of its value."""
    place = place_of(file_name, lines, pointer)
    return Located(line_at(lines, pointer) or 0, pointer, Unusable(place, found, wanted, remedy))


def in_file_order(faults: Iterable[Located]) -> tuple[Unusable, ...]:
    """By line, then pointer; a fault found twice is reported once."""
    unique = {(located.pointer, located.fault.args): located for located in faults}
    return tuple(one.fault for one in sorted(unique.values(), key=lambda one: (one.line, one.pointer, one.fault.args)))


def shortened(text: str) -> str:
    """*text*, cut to LONGEST_SHOWN characters."""
    return text if len(text) <= LONGEST_SHOWN else f"{text[: LONGEST_SHOWN - 1]}…"


def shown(value: Any, written: str | None = None) -> str:
    """A value as quoted in a message: texts in quotes, numbers as written, the rest by kind and size."""
    if value is None:
        return "nothing"
    if isinstance(value, str):
        return shortened(repr(value)) if value else "an empty text"
    if isinstance(value, bool):
        return f"the bare word {written or str(value).lower()}"
    if isinstance(value, (int, float)):
        return f"the number {shortened(written or str(value))}"
    if isinstance(value, Mapping):
        return f"a group of keys ({shortened(', '.join(map(str, value)))})" if value else "an empty group of keys"
    return f"a list of {len(value)}" if value else "an empty list"
