"""An approval in the text of a release file: it replaces the previous one; every other byte is unchanged. Pure."""

from __future__ import annotations

import json
from typing import Any

from delivery.intake.yaml.change import (
    added_key,
    line_end_of,
    pair_of,
    removed_key,
    replaced,
    with_edits,
)
from delivery.intake.yaml.nodes import composed_root
from delivery.intake.yaml.quoting import value
from delivery.model.approval import Approval

KEY, BARE = "approved", "approved_by"
PLACE = ("revision", "dated", KEY)
"""Inserted after these keys if the file has them."""


def with_approval(text: str, approval: Approval) -> str:
    """*text*, a release file, with *approval* and without a bare name; comments stay."""
    root = composed_root(text)
    bare = pair_of(root, BARE)
    if bare and not root.flow_style:
        text = with_edits(text, removed_key(text, root, bare))
        root = composed_root(text)
    pair = pair_of(root, KEY)
    if root.flow_style:
        new = json.dumps(plain(approval), ensure_ascii=False)
    else:
        new = _in_lines(approval, " " * root.start_mark.column, line_end_of(text))
    return with_edits(text, replaced(text, pair, new) if pair else added_key(text, root, [(KEY, new)], PLACE))


def without_approval(text: str) -> str:
    """*text*, a release file, without an approval; comments stay."""
    root = composed_root(text)
    pair = pair_of(root, KEY)
    return with_edits(text, removed_key(text, root, pair)) if pair else text


def _in_lines(approval: Approval, margin: str, line_end: str) -> str:
    """In braces: who and when on one line, then each track's hash and label copy on a line of its own."""
    stated = plain(approval)
    pairs = [f"{key}: {value(stated[key])}" for key in ("by", "date")]
    for key in ("audio_hashes", "label_copy", "earlier"):
        if key in stated:
            items = f",{line_end}".join(f"{margin}    {value(one)}" for one in stated[key])
            pairs.append(f"{key}: [{line_end}{items}]")
    return "{" + ", ".join(pairs) + "}"


def plain(approval: Approval) -> dict[str, Any]:
    """The approval as plain data, as a release file holds it."""
    stated: dict[str, Any] = {
        "by": approval.by,
        "date": approval.dated.isoformat(),
        "audio_hashes": list(approval.audio_hashes),
    }
    if approval.label_copy:
        stated["label_copy"] = [
            {"title": marks.title, "fields": " ".join(f"{key}={mark}" for key, mark in marks.fields.items())}
            for marks in approval.label_copy
        ]
    if approval.earlier:
        stated["earlier"] = [
            {"by": one.by, "date": one.dated.isoformat(), "tracks": list(one.tracks)} for one in approval.earlier
        ]
    return stated


def without_bare(data: dict[str, Any]) -> dict[str, Any]:
    """The data without the key of a bare approval."""
    return {key: value for key, value in data.items() if key != BARE}
