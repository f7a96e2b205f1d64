"""Differences from an earlier delivery, as plain data with their sentences."""

from __future__ import annotations

from typing import Any

from delivery.model.changes import Audio, Changes
from delivery.report.view.changes import changes_lines, headline


def changes_document(changes: Changes) -> dict[str, Any]:
    """Unrounded, with the sentences that the sheet prints."""
    return {
        "earlier": changes.earlier,
        "later": changes.later,
        "nothing": changes.nothing,
        "says": [headline(changes), *changes_lines(changes)],
        "audio": [_audio(each) for each in changes.audio],
        "added": [{"number": each.track, "title": each.title} for each in changes.added],
        "removed": [{"number": each.track, "title": each.title} for each in changes.removed],
        "moved": [{"before": each.before, "after": each.after, "title": each.title} for each in changes.moved],
        "values": [
            {
                "about": each.about.value,
                "key": each.key,
                "number": each.track,
                "before": each.before,
                "after": each.after,
            }
            for each in changes.values
        ],
    }


def _audio(audio: Audio) -> dict[str, Any]:
    return {
        "number": audio.track,
        "title": audio.title,
        "same_samples": audio.same_samples,
        "same_bytes": audio.same_bytes,
        "unknown": audio.unknown,
        "level_db": audio.level_db,
        "length_s": audio.length_s,
        "head_s": audio.head_s,
        "tail_s": audio.tail_s,
        "tone": [
            {"from_hz": band.from_hz, "below_hz": band.below_hz, "change_db": band.change_db} for band in audio.tone
        ],
    }
