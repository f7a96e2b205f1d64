"""What all outputs of label copy share: columns about routes, harmless cells, notices without their sign."""

from __future__ import annotations

import re

ROUTES = ("only_for", "not_for")
"""Shown only where a release has tracks that not every spec receives; nobody is asked to fill them in."""

_NOTICE_SIGN = re.compile(r"^\s*(?:©|℗|\([cCpP]\))\s*")
_ACTS = ("=", "+", "-", "@", "\t", "\r")


def inert(text: str) -> str:
    """A cell that a spreadsheet takes for text: one that could start a formula gets an apostrophe in front."""
    return f"'{text}" if text.startswith(_ACTS) else text


def without_sign(notice: str) -> str:
    """'2026 Ostrelune Records' of '℗ 2026 Ostrelune Records' or '(P) 2026 ...': papers and players put the sign."""
    return _NOTICE_SIGN.sub("", notice)
