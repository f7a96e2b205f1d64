"""Approval: the names with what it was given for, or why it does not approve these files. Pure."""

from __future__ import annotations

from collections.abc import Iterable

from delivery.model.approval import Approval
from delivery.model.finding import Answer
from delivery.model.part import Delivery, Source, unapproved
from delivery.report.view import words

REMEDY = 'When these masters are approved: delivery approve RELEASE --by "NAME" --date YEAR-MONTH-DAY'
RULE = "approved"


def approval(delivery: Delivery) -> str:
    """One paragraph; empty where the release file states nothing."""
    given, bare = delivery.release.approval, words.plain(delivery.release.approved_by)
    if given is None:
        return f"Name stated without audio hashes: {bare}; not an approval of these files." if bare else ""
    outside = unapproved(delivery.release, delivery.sources)
    waiting = [source for source in outside if _waits(given, source)]
    others = [source for source in outside if source not in waiting]
    if others:
        differ = ", ".join(_difference(delivery, given, source) for source in others)
        return (
            f"Not an approval of these files: {_by(delivery, given)}, was given for other audio. "
            f"Tracks that differ, by audio hash: {differ}."
        )
    covered = [source for source in delivery.sources if source not in outside]
    head = "These masters are approved" if not waiting else f"{_tracks(delivery, covered)} approved"
    then = f" Not approved yet: {_tracks(delivery, waiting).lower()}." if waiting else ""
    return (
        f"{head}: {_by(delivery, given)}. Audio hashes approved: {_all(delivery, covered)}. "
        f"{_label_copy(delivery, given)}{then}"
    )


def remedy(delivery: Delivery) -> str:
    """What the engineer can do about a stated approval that is none of these files; empty where it is one, or where
    nothing is stated. Not for papers: the client reads those."""
    stated = delivery.release.approval or delivery.release.approved_by
    return "" if delivery.approval_holds or not stated else REMEDY


def covered(delivery: Delivery) -> tuple[str, ...]:
    """Printed numbers of the tracks whose audio is approved, in order."""
    numbers = words.numbers(delivery.release)
    outside = unapproved(delivery.release, delivery.sources)
    return tuple(numbers[source.track.position] for source in delivery.sources if source not in outside)


def _waits(given: Approval, source: Source) -> bool:
    """True if the approval leaves the track open, rather than being about other audio."""
    position = source.track.position
    return position <= len(given.audio_hashes) and not given.hash_at(position)


def _label_copy(delivery: Delivery, given: Approval) -> str:
    """Whether the approval is about label copy, and what of it is not as approved."""
    if not given.label_copy:
        return "Titles and codes are not part of this approval."
    changed = words.unique(
        words.plain(finding.found)
        for finding in delivery.findings
        if finding.rule == RULE and finding.answer in (Answer.NOT_MET, Answer.WAIVED)
    )
    differences = "; ".join(changed)
    if differences:
        return f"Label copy is not as approved: {differences}."
    return f"Label copy approved with them: {words.short_hash(given.label_copy_hash)}."


def _by(delivery: Delivery, given: Approval) -> str:
    """'I. Merrow, 2026-05-12'; with the tracks of each, if several people or days are named."""
    whole = f"{words.plain(given.by)}, {given.dated.isoformat()}"
    if not given.earlier:
        return whole
    numbers = words.numbers(delivery.release)
    named = [(f"{words.plain(one.by)}, {one.dated.isoformat()}", one.tracks) for one in given.earlier]
    before = {at for _, tracks in named for at in tracks}
    named.append((whole, tuple(at for at in given.tracks if at not in before)))
    return "; ".join(f"{words.listed(numbers.get(at, str(at)) for at in tracks)}: {who}" for who, tracks in named)


def _tracks(delivery: Delivery, sources: Iterable[Source]) -> str:
    numbers = words.numbers(delivery.release)
    found = [numbers[source.track.position] for source in sources]
    return f"{'Track' if len(found) == 1 else 'Tracks'} {words.listed(found)}"


def _all(delivery: Delivery, sources: Iterable[Source]) -> str:
    numbers = words.numbers(delivery.release)
    return ", ".join(f"{numbers[source.track.position]} {words.short_hash(source.audio_hash)}" for source in sources)


def _difference(delivery: Delivery, given: Approval, source: Source) -> str:
    """'2 (approved 1a2b3c4d, now 99887766)'."""
    approved = given.hash_at(source.track.position)
    then = words.short_hash(approved) if approved else "none"
    number = words.numbers(delivery.release)[source.track.position]
    return f"{number} (approved {then}, now {_now(source)})"


def _now(source: Source) -> str:
    return words.short_hash(source.audio_hash) if source.audio_hash else "unreadable"
