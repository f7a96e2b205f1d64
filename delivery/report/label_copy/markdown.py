"""Label copy as Markdown, for wikis and chats: a heading for each track, a line for each field that was supplied."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from delivery.report.view import words
from delivery.report.view.label_copy import label_copy
from delivery.report.view.model import View
from delivery.report.view.report import Report

_MARKS = re.compile(r"([\\`*_{}\[\]<>()#+|~!-]|&(?=#?\w+;))")
"""Characters that could set text in another way (CommonMark 0.31, 2.4: a backslash before them makes them plain)."""
_AT_THE_START = re.compile(r"^(\d+)([.)])")


def render(view: View) -> bytes:
    """UTF-8, LF; every text as it is, whatever marks it holds."""
    return "".join(f"{line}\n" for line in _lines(view)).encode("utf-8", errors="replace")


def _lines(view: View) -> Iterator[str]:
    copy = label_copy(view)
    yield f"# {_plain(view.artist)}: {_plain(view.title)}"
    yield ""
    yield from _supplied(copy.release)
    for row, cells in zip(view.order, copy.rows, strict=True):
        yield ""
        yield f"## {_plain(f'{row.number} {row.title}')}"
        yield ""
        yield from _supplied(zip(copy.columns, cells, strict=True))
    yield ""
    yield f"Total {_plain(view.order_total)}"


def _supplied(fields: Iterable[tuple[str, str]]) -> Iterator[str]:
    yield from (f"- **{_plain(title)}:** {_plain(text)}" for title, text in fields if text)


def _plain(text: str) -> str:
    return _AT_THE_START.sub(r"\1\\\2", _MARKS.sub(r"\\\1", words.plain(text)))


REPORT = Report(
    "label_copy_markdown", "label-copy.md", "for wikis and chats: a heading for each track", render, on_request=True
)
