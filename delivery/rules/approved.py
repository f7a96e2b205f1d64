"""What is delivered is what was approved: the same audio in the same places, the same label copy."""

from __future__ import annotations

from collections.abc import Iterator

from delivery.model.approval import Approval, ApprovalState, CopyMarks
from delivery.model.copy_marks import copy_marks
from delivery.model.finding import NotMet, Weight
from delivery.model.release import Release, Track
from delivery.rules.limits import FLAG
from delivery.rules.rule import Scope, rule
from delivery.rules.words import always, counted, listed

approved_wanted = always("what was approved")
_WORDS = {"isrc": "ISRC", "iswc": "ISWC", "upc": "UPC / EAN", "p_line": "(P) line", "c_line": "(C) line", "bpm": "BPM"}


def _shown(_release: Release, state: ApprovalState) -> str:
    return f"approved by {state.given.by} on {state.given.dated.isoformat()}" if state.given else "nothing approved yet"


@rule(
    id="approved",
    limit=FLAG,
    needs=("release", "approval"),
    weight=Weight.FACT,
    source="the approval in the release file",
    sentence="audio and label copy are {limit}",
    value_text=_shown,
    limit_text=approved_wanted,
    scope=Scope.RELEASE,
)
def as_approved(release: Release, state: ApprovalState, limit: bool) -> Iterator[NotMet]:
    """Where the release file holds an approval: each track has the audio and label copy that were approved. Applied to
    every delivery of such a release, whether or not its spec requires it. What was not supplied or approved then may be
    supplied since; containers and tags of the masters do not matter, their samples do."""
    given = state.given
    if given is None:
        return
    wanted = approved_wanted(limit)
    yield from _of_release(release, given, state.track_count, wanted)
    marks = dict(zip((track.position for track in release.tracks), copy_marks(release)[1:], strict=True))
    for track in release.tracks:
        place = f"tracks/{track.position - 1}"
        found = _audio(track, given, state.audio_hashes.get(track.position, ""))
        if found:
            yield NotMet(found, wanted, _remedy("audio"), release.place(f"{place}/file"), track=track.position)
        for found, key in _copy(f"track {track.position}", given, track.position, marks[track.position]):
            yield NotMet(found, wanted, _remedy(_word(key)), release.place(f"{place}/{key}"), track=track.position)


def _of_release(release: Release, given: Approval, track_count: int, wanted: str) -> Iterator[NotMet]:
    approved = len(given.audio_hashes)
    if track_count < approved:
        found = f"{counted(track_count, 'track')}; {_by(given, 0)} approved {approved}"
        yield NotMet(found, wanted, _remedy("tracks"), release.place("tracks"))
    for found, key in _copy("the release", given, 0, copy_marks(release)[0]):
        yield NotMet(found, wanted, _remedy(_word(key)), release.place(key))


def _audio(track: Track, given: Approval, audio_hash: str) -> str:
    """What is wrong with the audio of *track*, in words; '' if nothing is, or if it is not approved or readable."""
    title, position = repr(track.title), track.position
    if position > len(given.audio_hashes):
        return f"track {position} {title} was not there when {_by(given, 0)} approved the release{_on(given, 0)}"
    if not given.hash_at(position) or not audio_hash or given.covers(position, audio_hash):
        return ""
    elsewhere = [str(at) for at in given.tracks if given.covers(at, audio_hash)]
    hint = f", that of track {listed(elsewhere)} there" if elsewhere else ""
    return f"track {position} {title} has other audio than {_by(given, position)} approved{_on(given, position)}{hint}"


def _copy(whose: str, given: Approval, position: int, now: CopyMarks) -> Iterator[tuple[str, str]]:
    """Each field changed since the approval, in words, and its key."""
    then = given.copy_at(position)
    since = f"since {_by(given, position)} approved it{_on(given, position)}"
    if then.title and then.title != now.title:
        yield f"title of {whose} changed from {then.title!r} to {now.title!r} {since}", "title"
    for key, mark in sorted(then.fields.items()):
        if now.fields.get(key) != mark:
            yield f"{_word(key)} of {whose} changed {since}", key


def _remedy(what: str) -> str:
    """One for each kind of difference: findings with one remedy are printed as one."""
    return f"the approved {what} again, a new approval (delivery approve)"


def _word(key: str) -> str:
    return _WORDS.get(key, key.replace("_", " "))


def _by(given: Approval, position: int) -> str:
    return given.given_for(position)[0]


def _on(given: Approval, position: int) -> str:
    return f" on {given.given_for(position)[1].isoformat()}"
