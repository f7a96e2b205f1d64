"""Note what was heard in the QC log of a release file; the sheet prints it."""

from __future__ import annotations

from pathlib import Path

from delivery.errors import Unusable
from delivery.intake.release.answer import add_log_entry
from delivery.model.release import LogEntry

__all__ = ["LogEntry", "note"]


def note(release_file: Path, entry: LogEntry) -> None:
    """Write *entry* at the end of the QC log of *release_file*; comments are kept.

    Raises
    ------
    Unusable : no note, no name, or no valid time; nothing is changed
    Faulty, Unfinished : the release file has faults or cannot be written; nothing is changed
    """
    for found, what, text in (("no text", "what was heard", entry.what), ("no name", "who heard it", entry.by)):
        if not text.strip():
            raise Unusable("QC log", found, what, "The sheet prints it.")
    if entry.at_s is not None and not 0 <= entry.at_s < float("inf"):
        raise Unusable("QC log", f"{entry.at_s} s", "a time in the file", "Mark the place again.")
    add_log_entry(release_file, entry)
