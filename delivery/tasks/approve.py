"""Approve masters: a name and a day, bound to the audio that the release file names now."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

from delivery.errors import Unusable
from delivery.intake import load_release
from delivery.intake.release.approval import write_approval
from delivery.meters import identify
from delivery.model.approval import Approval


def approve(release_file: Path, by: str, dated: str) -> Approval:
    """Write into *release_file* that *by* approved its masters, as they are now, on the day *dated* (2026-05-12).

    Raises
    ------
    Unusable : no name, no such day, or an unreadable master; nothing is changed
    Faulty, Unfinished : the release file has faults or cannot be written; nothing is changed
    """
    if not by.strip():
        raise Unusable("--by", "no name", "who approved the masters", 'Write --by "I. Merrow".')
    day = _day(dated)
    hashes = tuple(str(identify(track.file).value("audio_hash")) for track in load_release(release_file).tracks)
    approval = Approval(by.strip(), day, hashes)
    write_approval(release_file, approval)
    return approval


def _day(text: str) -> date:
    try:
        if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
            raise ValueError(text)
        return date.fromisoformat(text)
    except ValueError as error:
        raise Unusable("--date", repr(text), "a day as year-month-day", "Write it like 2026-05-12.") from error
