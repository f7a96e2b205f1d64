"""Approve masters: a name and a day, bound to the audio that the release file names now."""

from __future__ import annotations

from pathlib import Path

from delivery.errors import Unusable
from delivery.intake import load_release
from delivery.intake.release.approval import write_approval
from delivery.meters import identify
from delivery.model.approval import Approval
from delivery.model.copy_marks import copy_marks
from delivery.tasks.days import stated_day


def approve(release_file: Path, by: str, dated: str) -> Approval:
    """Write into *release_file* that *by* approved its masters, as they are now, on the day *dated* (2026-05-12).

    Raises
    ------
    Unusable : no name, no such day, or an unreadable master; nothing is changed
    Faulty, Unfinished : the release file has faults or cannot be written; nothing is changed
    """
    if not by.strip():
        raise Unusable("--by", "no name", "who approved the masters", 'Write --by "I. Merrow".')
    day = stated_day(dated)
    release = load_release(release_file)
    hashes = tuple(str(identify(track.file).value("audio_hash")) for track in release.tracks)
    approval = Approval(by.strip(), day, hashes, copy_marks(release))
    write_approval(release_file, approval)
    return approval
