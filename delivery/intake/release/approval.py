"""Write an approval into a release file: it replaces the previous one; every other byte is unchanged."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from delivery.errors import Faulty, Unusable
from delivery.intake.release.file import release_of
from delivery.intake.text_files import write_text
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
from delivery.intake.yaml.renamed_keys import current
from delivery.intake.yaml.text import document_of, text_of
from delivery.model.approval import Approval
from delivery.regular import read_regular

KEY, BARE = "approved", "approved_by"
PLACE = ("revision", "dated", KEY)
"""Inserted after these keys if the file has them."""


def write_approval(release_path: Path, approval: Approval) -> None:
    """Write *approval* under 'approved'; a bare name under 'approved_by' is removed.

    Raises
    ------
    Faulty : the release file, or the approval in it, has faults; nothing is changed
    Unusable : the file is written in a way that cannot be edited safely; the remedy has the text to add
    Unfinished : it cannot be written; nothing is changed
    """
    text = current(text_of(release_path)).text
    before = document_of(text, release_path.name)
    release_of(before, release_path)
    changed = with_approval(text, approval)
    try:
        after = document_of(changed, release_path.name)
    except Faulty:
        after = None
    if after is None or _without_bare(after.data) != {**_without_bare(before.data), KEY: _plain(approval)}:
        remedy = f"Add by hand: {KEY}: {json.dumps(_plain(approval), ensure_ascii=False)}"
        raise Unusable(release_path.name, "a layout that cannot be edited safely", "keys in lines", remedy)
    release_of(after, release_path)
    mark = "\ufeff" if read_regular(release_path, 3).startswith(b"\xef\xbb\xbf") else ""
    write_text(release_path, mark + changed)


def with_approval(text: str, approval: Approval) -> str:
    """*text*, a release file, with *approval* and without a bare name; comments stay."""
    root = composed_root(text)
    bare = pair_of(root, BARE)
    if bare and not root.flow_style:
        text = with_edits(text, removed_key(text, root, bare))
        root = composed_root(text)
    pair = pair_of(root, KEY)
    if root.flow_style:
        new = json.dumps(_plain(approval), ensure_ascii=False)
    else:
        new = _in_lines(approval, " " * root.start_mark.column, line_end_of(text))
    return with_edits(text, replaced(text, pair, new) if pair else added_key(text, root, [(KEY, new)], PLACE))


def _in_lines(approval: Approval, margin: str, line_end: str) -> str:
    """In braces: who and when on one line, then each track's hash and label copy on a line of its own."""
    stated = _plain(approval)
    pairs = [f"{key}: {value(stated[key])}" for key in ("by", "date")]
    for key in ("audio_hashes", "label_copy", "earlier"):
        if key in stated:
            items = f",{line_end}".join(f"{margin}    {value(one)}" for one in stated[key])
            pairs.append(f"{key}: [{line_end}{items}]")
    return "{" + ", ".join(pairs) + "}"


def _plain(approval: Approval) -> dict[str, Any]:
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


def _without_bare(data: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in data.items() if key != BARE}
