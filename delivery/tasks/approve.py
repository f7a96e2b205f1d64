"""Approve masters, by hand or by a client's answer; bound to the audio and label copy of the release now."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from delivery.errors import Faulty, Unusable
from delivery.intake import load_release, load_studio
from delivery.intake.approval import Answer, answer_of
from delivery.intake.release.answer import write_answer
from delivery.meters import identify
from delivery.model.approval import NOT_APPROVED, Approval, CopyMarks, combined, seen_hash, without
from delivery.model.copy_marks import copy_marks
from delivery.model.release import LogEntry, Release
from delivery.report.view.words import clock, numbers, runs
from delivery.tasks.days import stated_day
from delivery.tasks.heard import changed_since_sent
from delivery.tasks.stores import deliveries_of


@dataclass(frozen=True, slots=True)
class Answered:
    """What an answer changed in the release file."""

    approved: tuple[int, ...]
    """Positions of the tracks approved by it."""
    approval: Approval | None
    """As the release file now has it."""
    logged: tuple[LogEntry, ...]
    """New open entries of the QC log."""
    by: str
    dated: date
    revision: int
    """Of the release, and so of what is approved."""
    states_revision: bool
    """True if the answer itself names that revision or the audio it is about."""

    @property
    def complete(self) -> bool:
        """True if every track of the release is approved now."""
        return self.approval is not None and len(self.approval.tracks) == len(self.approval.audio_hashes)

    @property
    def in_words(self) -> str:
        """'approved 1, 3 to 5; track 2: more bass', by position."""
        approved = f"approved {runs([str(position) for position in self.approved])}" if self.approved else ""
        asked = (f"track {one.track}: {one.what}" if one.track else one.what for one in self.logged)
        return "; ".join(filter(None, (approved, *asked))) or "requests that are in the QC log already"


def approve(release_file: Path, by: str, dated: str) -> Answered:
    """Write into *release_file* that *by* approved all its masters, as they are now, on the day *dated* (2026-05-12).

    Raises
    ------
    Unusable : no name, no such day, or an unreadable master; nothing is changed
    Faulty, Unfinished : the release file has faults or cannot be written; nothing is changed
    """
    release = load_release(release_file)
    answer = Answer(everything=True, revision=release.revision)
    return _record(release_file, release, answer, _named(by, ""), stated_day(dated))


def approve_from(release_file: Path, answer_file: Path, by: str = "", dated: str = "") -> Answered:
    """Write the answer in *answer_file* into *release_file*: approvals, and requested changes as open log entries.

    Parameters
    ----------
    by, dated : who answered and when; '' : as the answer states

    Raises
    ------
    Unusable, Faulty : the answer cannot be read, is about other audio or label copy, or names a track that is none;
        nothing is changed
    Unfinished : the release file cannot be written; nothing is changed
    """
    answer = answer_of(answer_file)
    if dated or answer.dated:
        day = stated_day(dated) if dated else answer.dated
    else:
        raise Unusable("--date", "no day in the answer", "the day of the answer", "Write --date 2026-05-12.")
    assert day
    release = load_release(release_file)
    return _record(release_file, release, answer, _named(by, answer.by), day, answer_file.name)


def _named(by: str, stated: str) -> str:
    name = by.strip() or stated.strip()
    if not name:
        raise Unusable("--by", "no name", "who approved the masters", 'Write --by "I. Merrow".')
    return name


def _record(release_file: Path, release: Release, answer: Answer, by: str, dated: date, name: str = "") -> Answered:
    positions = {number: position for position, number in numbers(release).items() if position is not None}
    measured = {track.position: identify(track.file) for track in release.tracks}
    hashes = {position: str(found.value("audio_hash")) for position, found in measured.items()}
    marks = copy_marks(release)
    lengths = {position: found.value("duration_s") for position, found in measured.items()}
    faults = [*_unlike(release, answer, positions, hashes, marks, name), *_unknown(answer, positions, lengths, name)]
    if faults:
        raise Faulty(tuple(faults))
    asked = {positions[request.track] for request in answer.requests if request.track}
    named = set(positions.values()) if answer.everything else {positions[number] for number in answer.approved}
    approved = tuple(sorted(named - asked))
    if name and approved and not answer.audio_hashes:
        _refuse_unheard(release, hashes, approved, name)
    entries = tuple(
        LogEntry(request.what, by, track=positions.get(request.track), at_s=request.at_s) for request in answer.requests
    )
    new = tuple(entry for entry in entries if entry not in release.qc_log)
    kept = without(release.approval, asked)
    approval = _approval(approved, hashes, marks, kept, by, dated) if approved else kept
    write_answer(release_file, approval, new)
    stated = answer.revision is not None or bool(answer.audio_hashes)
    return Answered(approved, approval, new, by, dated, release.revision, stated)


def _refuse_unheard(release: Release, hashes: Mapping[int, str], approved: Sequence[int], name: str) -> None:
    """Refuse an answer in plain words to a revision that has changed since it was delivered."""
    changed = changed_since_sent(release, hashes, approved, deliveries_of(load_studio(release.path)))
    if changed:
        found = f"an answer to revision {release.revision} as it was delivered: {'; '.join(changed)}"
        remedy = "Nothing was written. Raise the revision, deliver it, and ask for an answer to it."
        raise Unusable(name, found, "an answer to what the release holds now", remedy)


def _approval(
    approved: Sequence[int],
    hashes: Mapping[int, str],
    marks: tuple[CopyMarks, ...],
    before: Approval | None,
    by: str,
    dated: date,
) -> Approval:
    """The approval of these tracks, together with what was approved before; of the release when it is complete."""
    heard = tuple(found if position in approved else "" for position, found in sorted(hashes.items()))
    copied = tuple(found if at in approved else NOT_APPROVED for at, found in enumerate(marks))
    made = combined(before, Approval(by, dated, heard, copied))
    if len(made.tracks) < len(hashes):
        return made
    return combined(
        None, Approval(made.by, made.dated, made.audio_hashes, (marks[0], *made.label_copy[1:]), made.earlier)
    )


def _unlike(
    release: Release,
    answer: Answer,
    positions: Mapping[str, int],
    hashes: Mapping[int, str],
    marks: Sequence[CopyMarks],
    name: str,
) -> Iterator[Unusable]:
    """Why the answer is about something else than this release holds now."""
    remedy = "Nothing was written. Send the present version, and ask for an answer to it."
    if answer.revision is not None and answer.revision != release.revision:
        found = f"an answer to revision {answer.revision}"
        yield Unusable(name, found, f"an answer to revision {release.revision}, as {release.path.name} states", remedy)
    unlike = [
        number for number, heard in answer.audio_hashes.items() if not _hears(heard, positions.get(number), hashes)
    ]
    for number in unlike:
        yield Unusable(
            name, _heard_elsewhere(number, answer.audio_hashes[number], positions, hashes), "its audio now", remedy
        )
    if answer.label_copy and not unlike:
        shown = [marks[0], *(marks[positions[number]] for number in answer.audio_hashes)]
        if seen_hash(shown) != answer.label_copy:
            yield Unusable(name, "an answer to other titles, credits or codes", "those of the release now", remedy)


def _hears(heard: str, position: int | None, hashes: Mapping[int, str]) -> bool:
    return position is not None and hashes[position].startswith(heard)


def _heard_elsewhere(number: str, heard: str, positions: Mapping[str, int], hashes: Mapping[int, str]) -> str:
    there = [other for other, position in positions.items() if hashes[position].startswith(heard)]
    where = f", which is track {there[0]} now" if there else ", which this release does not have"
    return f"an answer for other audio of track {number} ({heard[:8]}{where})"


def _unknown(
    answer: Answer, positions: Mapping[str, int], lengths: Mapping[int, float | None], name: str
) -> Iterator[Unusable]:
    known = f"one of {', '.join(positions)}"
    for number in dict.fromkeys((*answer.approved, *(request.track for request in answer.requests))):
        if number and number not in positions:
            yield Unusable(name, f"track {number}", known, "Numbers are those of the mail and the sheet.")
    for request in answer.requests:
        length_s = lengths.get(positions.get(request.track, 0))
        if request.at_s is not None and length_s is not None and request.at_s > length_s:
            found = f"the time {clock(request.at_s, 0)} in track {request.track}"
            wanted = f"one before its end at {clock(length_s, 0)}"
            yield Unusable(request.place or name, found, wanted, "Ask the client which place is meant.")
