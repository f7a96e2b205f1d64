"""Write an answer into a release file: the approval, and requested changes as open entries of the QC log."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from delivery.errors import Faulty, Unusable
from delivery.intake.release.approval import KEY, plain, with_approval, without_approval, without_bare
from delivery.intake.release.edit import Values, add_entry, with_entry
from delivery.intake.release.file import release_of
from delivery.intake.text_files import write_text
from delivery.intake.yaml.quoting import flow, one_line
from delivery.intake.yaml.renamed_keys import current
from delivery.intake.yaml.text import document_of, text_of
from delivery.model.approval import Approval
from delivery.model.release import LogEntry
from delivery.regular import read_regular

LOG = "qc_log"


def write_answer(release_path: Path, approval: Approval | None, entries: Sequence[LogEntry]) -> None:
    """Write *approval* under 'approved' (None: none is left) and *entries* at the end of the log, in one step.

    Every other byte is unchanged.

    Raises
    ------
    Faulty : the release file has faults; nothing is changed
    Unusable : the file is written in a way that cannot be edited safely
    Unfinished : it cannot be written; nothing is changed
    """
    text = current(text_of(release_path)).text
    before = document_of(text, release_path.name)
    release_of(before, release_path)
    changed = with_approval(text, approval) if approval else without_approval(text)
    rows = [_values(entry) for entry in entries]
    for row in rows:
        changed = with_entry(changed, LOG, row)
    try:
        after = document_of(changed, release_path.name)
    except Faulty:
        after = None
    if after is None or without_bare(after.data) != _wanted(before.data, approval, rows):
        stated = json.dumps(plain(approval) if approval else None, ensure_ascii=False)
        remedy = f"Write by hand: {KEY}: {stated}" + "".join(f"; in {LOG}: {flow(row)}" for row in rows)
        raise Unusable(release_path.name, "a layout that cannot be edited safely", "keys in lines", remedy)
    release_of(after, release_path)
    mark = "\ufeff" if read_regular(release_path, 3).startswith(b"\xef\xbb\xbf") else ""
    write_text(release_path, mark + changed)


def add_log_entry(release_path: Path, entry: LogEntry) -> None:
    """Add *entry* at the end of the QC log; all other bytes are unchanged.

    Raises
    ------
    Faulty : the release file, or the entry in it (an unknown track), has faults; nothing is changed
    Unusable : the file's layout cannot be edited safely; the remedy has the text to add
    Unfinished : it cannot be written; nothing is changed
    """
    add_entry(release_path, LOG, _values(entry))


def _wanted(before: dict[str, Any], approval: Approval | None, rows: Sequence[Values]) -> dict[str, Any]:
    """The old data with what was written, in any order of keys."""
    data = {key: value for key, value in without_bare(before).items() if key != KEY}
    approved = {KEY: plain(approval)} if approval else {}
    logged = {LOG: [*(before.get(LOG) or ()), *rows]} if rows else {}
    return {**data, **approved, **logged}


def _values(entry: LogEntry) -> Values:
    """Without a decision, the entry is open."""
    at = {} if entry.at_s is None else {"at": clock(entry.at_s)}
    track = {} if entry.track is None else {"track": entry.track}
    decision = {"decision": one_line(entry.decision)} if entry.decision else {}
    return {**at, **track, "what": one_line(entry.what), **decision, "by": one_line(entry.by)}


def clock(at_s: float) -> str:
    """'1:23.4', as it is read back."""
    minutes, seconds = divmod(round(at_s * 1000), 60_000)
    hours, minutes = divmod(minutes, 60)
    second = f"{seconds // 1000:02}.{seconds % 1000:03}".rstrip("0").rstrip(".")
    return f"{hours}:{minutes:02}:{second}" if hours else f"{minutes}:{second}"
