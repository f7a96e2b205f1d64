"""From parser nodes to plain data, lines and source texts. Pure: no file is opened here."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from delivery.errors import Unusable
from delivery.intake.yaml.source_locations import place_of, shortened, step_into

MAX_VALUES = 100_000
"""Maximum number of values, over a hundred times a box set; nested aliases exceed it at once."""

CORE = "tag:yaml.org,2002:"
SIGNED_WHOLE = re.compile(r"[-+]?[0-9]+\Z")
HASH_WITHOUT_BLANK = re.compile(r"[ \t]+(#[^\s#].*)")


@lru_cache(maxsize=4)
def composed_root(text: str) -> Any:
    """The document as nodes with marks; None if it is empty. Nobody changes the nodes: one text is parsed once.

    An edit reads the text before and after it several times, and the parser takes most of that time.

    Raises
    ------
    ruamel.yaml.error.YAMLError, RecursionError : not YAML, or nested too deep
    """
    from ruamel.yaml import YAML

    yaml = YAML(typ="safe", pure=True)  # "rt" reads comments too, and leaves a control character at each fold of a text
    yaml.composer.warn_double_anchors = False  # YAML 1.2.2, 7.1 lets an anchor be used again
    return yaml.compose(text)


@dataclass
class Gathered:
    """Plain data of a document, with the line and spelling of each value."""

    data: Any = None
    lines: dict[str, int] = field(default_factory=dict)
    written: dict[str, str] = field(default_factory=dict)
    after_hash: dict[str, str] = field(default_factory=dict)
    faults: list[Unusable] = field(default_factory=list)


def gather(root: Any, text: str, file_name: str) -> Gathered:
    """Plain data of a composed document; faults of single nodes are collected, not raised."""
    gathering = _Gathering(file_name, text.splitlines())
    gathering.found.lines[""] = root.start_mark.line + 1
    gathering.found.data = gathering.value(root, "")
    return gathering.found


class _Gathering:
    def __init__(self, file_name: str, text_lines: list[str]) -> None:
        self.file_name, self.text_lines = file_name, text_lines
        self.found = Gathered()
        self._values = 0
        self._open: set[int] = set()

    def value(self, node: Any, pointer: str) -> Any:
        self._values += 1
        if id(node) in self._open or self._values > MAX_VALUES:
            return self._too_many(pointer)
        if isinstance(node.value, str):
            return self._scalar(node, pointer)
        self._open.add(id(node))
        inside = self._group if str(node.tag) == f"{CORE}map" else self._list
        made = inside(node, pointer)
        self._open.remove(id(node))
        return made

    def _too_many(self, pointer: str) -> None:
        if self._values <= MAX_VALUES + 1:
            self._values = MAX_VALUES + 2  # report it once, then only unwind
            self._fault(pointer, "aliases ('*name') that unfold without end", "plain values", "Write the values out.")

    def _fault(self, pointer: str, found: str, wanted: str, remedy: str) -> None:
        self.found.faults.append(Unusable(place_of(self.file_name, self.found.lines, pointer), found, wanted, remedy))

    def _list(self, node: Any, pointer: str) -> list[Any] | None:
        if str(node.tag) != f"{CORE}seq":
            self._unknown_tag(node, pointer)
            return None
        made = []
        for index, item in enumerate(node.value):
            at = step_into(pointer, index)
            self.found.lines[at] = item.start_mark.line + 1
            made.append(self.value(item, at))
        return made

    def _group(self, node: Any, pointer: str) -> dict[str, Any]:
        made: dict[str, Any] = {}
        for key_node, value_node in node.value:
            key, line = key_node.value, key_node.start_mark.line + 1
            if not isinstance(key, str):
                self._fault(
                    pointer, f"a list or group as a key in line {line}", "a word before the colon", "Use a word."
                )
                continue
            key = self._whole_characters(key, pointer) or ""
            at = step_into(pointer, key)
            if key in made:
                first = self.found.lines[at]
                self.found.lines[at] = line
                self._fault(
                    at, f"the key {key!r} a second time (first in line {first})", "each key once", "Delete one."
                )
            self.found.lines[at] = line
            made[key] = self.value(value_node, at)
        return made

    def _scalar(self, node: Any, pointer: str) -> Any:
        tag = str(node.tag)
        plain = node.style is None
        if tag == f"{CORE}str":
            if plain:
                self._note_hash(node, pointer)
            return self._whole_characters(node.value, pointer)
        make = MAKERS.get(tag)
        if make is None:
            self._unknown_tag(node, pointer)
            return None
        try:
            made = make(node.value)
        except ValueError:
            self._fault(
                pointer, f"{shortened(node.value)!r}", "an ordinary number or a text", "Put it in quotes if it is text."
            )
            return None
        if plain:
            self.found.written[pointer] = node.value
        return made

    def _whole_characters(self, text: str, pointer: str) -> str | None:
        """Join escapes for halves of a character (as in JSON); a single half is not text."""
        try:
            return text.encode("utf-16", "surrogatepass").decode("utf-16")
        except UnicodeDecodeError:
            self._fault(
                pointer, "half a character (\\ud800 to \\udfff)", "whole characters", "Type the character itself."
            )
            return None

    def _unknown_tag(self, node: Any, pointer: str) -> None:
        tag = str(node.tag).replace(CORE, "!!")
        self._fault(
            pointer, f"the YAML tag {shortened(tag)}", "plain values", "Put a text that begins with '!' in quotes."
        )

    def _note_hash(self, node: Any, pointer: str) -> None:
        mark = node.end_mark
        if mark.line < len(self.text_lines):
            follows = HASH_WITHOUT_BLANK.match(self.text_lines[mark.line][mark.column :])
            if follows:
                self.found.after_hash[pointer] = follows[1].rstrip()


def _whole(text: str) -> int:
    """YAML 1.2 core: decimal (leading zeros are not octal), 0o17, 0x1F; anything else is a text to quote."""
    if SIGNED_WHOLE.match(text):
        return int(text)
    if text[:2] in ("0o", "0x"):
        return int(text[2:], 8 if text[1] == "o" else 16)
    raise ValueError(text)


def _decimal(text: str) -> float:
    """A finite number: .inf and .nan have no meaning in these files."""
    made = float(text)
    if not math.isfinite(made):
        raise ValueError(text)
    return made


def _truth(text: str) -> bool:
    if text.lower() not in ("true", "false"):
        raise ValueError(text)
    return text.lower() == "true"


def _nothing(text: str) -> None:
    del text


MAKERS: dict[str, Callable[[str], Any]] = {
    f"{CORE}int": _whole,
    f"{CORE}float": _decimal,
    f"{CORE}bool": _truth,
    f"{CORE}null": _nothing,
    f"{CORE}timestamp": str,
}
