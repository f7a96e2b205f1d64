"""Insert text into YAML so that every other byte is unchanged: where a node ends, where the next line begins. Pure."""

from __future__ import annotations

from typing import Any


def content_end(node: Any) -> int:
    """Position after a node's last character: block groups end at the next token, comments and blank lines later."""
    if isinstance(node.value, str) or node.flow_style:
        end: int = node.end_mark.index
        return end
    last = node.value[-1]
    return pair_end(last) if isinstance(last, tuple) else content_end(last)


def pair_end(pair: Any) -> int:
    """The same for a key and its value; without a value, after the colon: an empty node ends at the next token."""
    head, value = pair
    if value.value == "" and value.style is None:
        after_colon: int = head.end_mark.index + 1
        return after_colon
    return content_end(value)


def next_line(text: str, at: int) -> int:
    """The beginning of the line after *at*; *at* itself when a line begins there."""
    if at and text[at - 1] == "\n":
        return at
    found = text.find("\n", at)
    return len(text) if found < 0 else found + 1


def inserted(text: str, at: int, more: str) -> str:
    """*text* with *more* inserted at *at*."""
    return text[:at] + more + text[at:]


def inserted_lines(text: str, at: int, lines: list[str]) -> str:
    """*text* with whole lines inserted at *at*, with the line ends of the text."""
    line_end = "\r\n" if "\r\n" in text else "\n"
    before = text[:at]
    if before and not before.endswith("\n"):
        before += line_end
    return before + "".join(line + line_end for line in lines) + text[at:]
