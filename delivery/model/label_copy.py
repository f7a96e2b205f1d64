"""Shared by all outputs of label copy: columns about routes, safe cells, notices without their sign."""

from __future__ import annotations

import re

ROUTES = ("only_for", "not_for")
"""Shown only if a release has tracks that some specs do not receive; not part of blank sheets."""

_NOTICE_SIGN = re.compile(r"^\s*(?:©|℗|\([cCpP]\))\s*")
_ACTS = ("=", "+", "-", "@", "\t", "\r")


def inert(text: str) -> str:
    """A cell that a spreadsheet takes for text: one that could start a formula gets a leading apostrophe."""
    return f"'{text}" if text.startswith(_ACTS) else text


def without_sign(notice: str) -> str:
    """'2026 Ostrelune Records' of '℗ 2026 Ostrelune Records' or '(P) 2026 ...': papers and players add the sign."""
    return _NOTICE_SIGN.sub("", notice)
