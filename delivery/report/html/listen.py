"""A page for listening to two matched copies, switched while they play or compared blind. It loads nothing."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import dataclass

from delivery.report.html.page import environment, policy, template_text


@dataclass(frozen=True, slots=True)
class Excerpt:
    """The same seconds of both copies, as WAV files of equal length and rate."""

    title: str
    first: bytes
    second: bytes


def render(title: str, names: tuple[str, str], excerpts: Sequence[Excerpt], key_file: str = "") -> bytes:
    """UTF-8, LF; the same bytes for the same input.

    Parameters
    ----------
    names : by which the page calls the copies
    key_file : file that tells which is which, where the names hide it; empty: they do not
    """
    script = template_text("listen.js")
    rows = [
        {
            "title": each.title,
            "first": base64.b64encode(each.first).decode(),
            "second": base64.b64encode(each.second).decode(),
        }
        for each in excerpts
    ]
    page = environment().get_template("listen.html.j2")
    made = page.render(
        title=title,
        first=names[0],
        second=names[1],
        excerpts=rows,
        hidden=bool(key_file),
        key_file=key_file,
        style=template_text("listen.css"),
        script=script,
        policy=policy([script]),
    )
    return made.encode("utf-8", errors="replace")
