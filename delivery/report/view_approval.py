"""Who approved what: the name beside the audio it was given for, or why it is no approval of these files. Pure."""

from __future__ import annotations

from collections.abc import Iterator

from delivery.model.approval import Approval
from delivery.model.part import Delivery, Source
from delivery.report import view_words as words

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
    return (
        f"Not an approval of these files: {by}, was given for other audio. {'. '.join(_differences(delivery, given))}. "
        f"{REMEDY}"
    )


def _all(delivery: Delivery) -> str:
    numbers = words.numbers(delivery.release)
    return ", ".join(
        f"{numbers[source.track.position]} {words.short_hash(source.audio_hash)}" for source in delivery.sources
    )


def _differences(delivery: Delivery, given: Approval) -> Iterator[str]:
    """How many tracks were approved, where it is not as many; which differ, and what was approved in their place."""
    then, now = len(given.audio_hashes), len(delivery.sources)
    if then != now:
        yield f"Approved: {words.counted(then, 'track')}; on the release: {words.counted(now, 'track')}"
    numbers = words.numbers(delivery.release)
    differing = given.differing([source.audio_hash for source in delivery.sources])
    told = [
        f"{numbers[delivery.sources[at - 1].track.position]} "
        f"(approved {words.short_hash(given.audio_hashes[at - 1])}, now {_now(delivery.sources[at - 1])})"
        for at in differing
        if at <= min(then, now)
    ]
    if told:
        yield f"Tracks that differ, by audio hash: {', '.join(told)}"


def _now(source: Source) -> str:
    return words.short_hash(source.audio_hash) if source.audio_hash else "unreadable"
