"""Approval: the name with the audio it was given for, or why it does not approve these files. Pure."""

from __future__ import annotations

from delivery.model.approval import Approval
from delivery.model.part import Delivery, Source, unapproved
from delivery.report.view import words

REMEDY = 'When these masters are approved: delivery approve RELEASE --by "NAME" --date YEAR-MONTH-DAY'


def approval(delivery: Delivery) -> str:
    """One paragraph; empty where the release file states nothing."""
    given, bare = delivery.release.approval, words.plain(delivery.release.approved_by)
    if given is None:
        return f"Name stated without audio hashes: {bare}; not an approval of these files. {REMEDY}" if bare else ""
    by = f"{words.plain(given.by)}, {given.dated.isoformat()}"
    if delivery.approval_holds:
        return (
            f"These masters are approved: {by}. Audio hashes approved: {_all(delivery)}. "
            "Titles and codes are not part of this approval."
        )
    others = unapproved(delivery.release, delivery.sources)
    differ = ", ".join(_difference(delivery, given, source) for source in others)
    return (
        f"Not an approval of these files: {by}, was given for other audio. "
        f"Tracks that differ, by audio hash: {differ}. {REMEDY}"
    )


def _all(delivery: Delivery) -> str:
    numbers = words.numbers(delivery.release)
    return ", ".join(
        f"{numbers[source.track.position]} {words.short_hash(source.audio_hash)}" for source in delivery.sources
    )


def _difference(delivery: Delivery, given: Approval, source: Source) -> str:
    """'2 (approved 1a2b3c4d, now 99887766)'."""
    approved = given.audio_hashes[source.track.position - 1 : source.track.position]
    then = words.short_hash(approved[0]) if approved else "none"
    number = words.numbers(delivery.release)[source.track.position]
    return f"{number} (approved {then}, now {_now(source)})"


def _now(source: Source) -> str:
    return words.short_hash(source.audio_hash) if source.audio_hash else "unreadable"
