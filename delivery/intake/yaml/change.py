"""Edit YAML text so that every other byte is unchanged: values replaced, emptied and added, comments kept. Pure.

Edits use the nodes of a composed document, whose marks give their positions in the text. An edit is a span and its
replacement; the edits of one step are applied together. The caller reads the result again and rejects it unless it has
the intended data.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, NamedTuple

from delivery.intake.yaml.insert import next_line, pair_end
from delivery.intake.yaml.quoting import quoted

COMMENT = re.compile(r"(?:^|(?<=\s))#[^\r\n]*", re.MULTILINE)


class Edit(NamedTuple):
    """The replacement of a part of a text."""

    start: int
    end: int
    text: str
    """Replacement of the text from *start* to *end*."""


def with_edits(text: str, edits: Iterable[Edit]) -> str:
    """*text* with all *edits*, which do not overlap; those at one place in the order given."""
    done, at = [], 0
    for edit in sorted(edits, key=lambda edit: (edit.start, edit.end)):
        done += [text[at : edit.start], edit.text]
        at = max(at, edit.end)
    return "".join([*done, text[at:]])


def line_end_of(text: str) -> str:
    """The line ending that *text* uses."""
    return "\r\n" if "\r\n" in text else "\n"


def pair_of(group: Any, key: str) -> Any:
    """Key node and value node of *key* in a group of keys; None if it is absent."""
    return next((pair for pair in group.value if isinstance(pair, tuple) and pair[0].value == key), None)


def replaced(text: str, pair: Any, new: str) -> list[Edit]:
    """Replace the value of *pair* by *new*, YAML on one line; empty: a key without a value, which counts as not
    supplied.

    Comments within the old value move above its key.
    """
    head, value = pair
    start = text.index(":", head.end_mark.index) + 1
    end = max(start, start + len(text[start : pair_end(pair)].rstrip()))
    above = comments_within(text, value, start, end)
    blank = " " if new else ""
    edits = [Edit(start, end, f"{blank}{new}")]
    if above:
        margin, line = " " * head.start_mark.column, line_start(text, head.start_mark.index)
        edits.append(Edit(line, line, "".join(f"{margin}{comment}{line_end_of(text)}" for comment in above)))
    return edits


def added_key(text: str, group: Any, pairs: Sequence[tuple[str, str]], order: Sequence[str]) -> list[Edit]:
    """Add keys to *group*, each with its value on one line, after the last key that precedes it in *order*."""
    edits = []
    for key, new in pairs:
        before = set(order[: order.index(key)]) if key in order else set()
        stand = [pair for pair in group.value if pair[0].value in before] or [group.value[-1]]
        end = pair_end(stand[-1])
        if group.flow_style:
            edits.append(Edit(end, end, f", {quoted(key)}: {new or '~'}"))
            continue
        at = next_line(text, end)
        opening = "" if not at or text[at - 1] == "\n" else line_end_of(text)
        line = " " * group.value[0][0].start_mark.column + f"{key}: {new}".rstrip()
        edits.append(Edit(at, at, opening + line + line_end_of(text)))
    return edits


def removed_key(text: str, group: Any, pair: Any, hint: str = "") -> list[Edit]:
    """Remove the lines of a key that has lines of its own; elsewhere an empty list stays.

    Parameters
    ----------
    hint : a comment removed with it; other comments in its lines stay
    """
    head, value = pair
    first = line_start(text, head.start_mark.index)
    if group.flow_style or text[first : head.start_mark.index].strip():
        return replaced(text, pair, "[]")
    end = next_line(text, pair_end(pair))
    kept = [comment for comment in comments_within(text, value, head.end_mark.index, end) if comment != hint]
    margin = " " * head.start_mark.column
    return [Edit(first, end, "".join(f"{margin}{comment}{line_end_of(text)}" for comment in kept))]


def comments_within(text: str, node: Any, start: int, end: int) -> list[str]:
    """Comments from *start* to *end*, in *node*; '#' inside a text is not a comment."""
    found, at = [], start
    for first, last in (*sorted(_texts(node)), (end, end)):
        gap = text[at : min(first, end)]
        found += [match[0].rstrip() for match in COMMENT.finditer(gap)] if at < first else []
        at = max(at, last)
    return found


def line_start(text: str, at: int) -> int:
    """Index of the first character of the line that contains *at*."""
    return text.rfind("\n", 0, at) + 1


def _texts(node: Any) -> Iterator[tuple[int, int]]:
    """Positions of the texts in *node*."""
    if isinstance(node.value, str):
        yield node.start_mark.index, node.end_mark.index
        return
    for inner in node.value:
        for one in inner if isinstance(inner, tuple) else (inner,):
            yield from _texts(one)
