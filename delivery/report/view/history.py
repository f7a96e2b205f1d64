"""What was delivered, to whom and when, as rows of words. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import Enum

from delivery.ledger.handovers import Out
from delivery.ledger.past import Handover, PastDelivery
from delivery.report.view import words


class FoundBy(Enum):
    """How deliveries were found."""

    TEXT = "text"
    ISRC = "isrc"
    BYTES = "bytes"
    """A file with exactly these bytes was delivered."""
    SOUND = "sound"
    """A file with exactly these samples was delivered, under another name, with other tags or in another container."""
    MASTER = "master"
    """No delivered file has these samples, but files were made from this master."""
    PACKAGE = "package"


@dataclass(frozen=True, slots=True)
class History:
    """Deliveries that answer one question."""

    query: str
    found_by: FoundBy
    deliveries: tuple[PastDelivery, ...]
    """The last one first."""
    total: int
    """How many there are; ``deliveries`` may hold only the last ones."""
    matched: Mapping[int, tuple[str, ...]] = field(default_factory=dict)
    """For a file: number of a delivery -> paths of its files that it is."""


COLUMNS = ("Dated", "Release", "Rev", "For", "Handed over", "Approved")


def opening(found: History) -> str:
    """What the question was answered with, in one sentence."""
    name = words.plain(found.query)
    count = words.counted(found.total, "delivery", "deliveries")
    if not found.total:
        return f"{name}: not found in the ledger." if name else "The ledger has no delivery yet."
    said = {
        FoundBy.TEXT: f"{name}: {count}." if name else f"{count} in the ledger.",
        FoundBy.ISRC: f"{name}: {count} of this recording.",
        FoundBy.BYTES: f"{name} is, byte for byte, a file of {count}.",
        FoundBy.SOUND: f"{name} has exactly the sound of a file of {count}; its tags, name or container differ.",
        FoundBy.MASTER: f"{name} has exactly the sound of a master from which the files of {count} were made.",
        FoundBy.PACKAGE: f"{name}: this package is in the ledger.",
    }
    return said[found.found_by]


def row(delivery: PastDelivery) -> tuple[str, ...]:
    """A delivery under `COLUMNS`."""
    return (
        delivery.dated or words.NOT_STATED,
        release(delivery),
        str(delivery.revision),
        words.plain(delivery.client) or "-",
        "; ".join(f"{words.plain(each.recipient)} {each.day}" for each in delivery.handovers) or "-",
        approved(delivery) or "-",
    )


def release(delivery: PastDelivery) -> str:
    """'OSL-014 Harbour Arithmetic, Merrow & the Glass Tide'."""
    titled = words.titled(delivery.title, delivery.version)
    numbered = " ".join(text for text in (words.plain(delivery.catalogue_number), titled) if text)
    return ", ".join(text for text in (numbered, words.plain(delivery.artist)) if text)


def approved(delivery: PastDelivery) -> str:
    """Names and days of the approvals."""
    return "; ".join(f"{words.plain(approver)} {day}".strip() for approver, day in delivery.approvals)


def details(delivery: PastDelivery, matched: tuple[str, ...], *, everything: bool) -> Iterator[str]:
    """Lines about one delivery: what, which bits, to whom, where it was.

    Parameters
    ----------
    matched : paths of its files that are the file in question
    everything : with every file and its hashes
    """
    yield f"{release(delivery)}, revision {delivery.revision}, dated {delivery.dated or words.NOT_STATED}"
    for path in matched:
        yield f"  this file    {words.plain(path)}{_song(delivery, path)}"
    yield from (f"  {label:12} {text}" for label, text in _facts(delivery) if text)
    for file in delivery.files if everything else ():
        yield f"  {words.plain(file.path)}{_song(delivery, file.path)}"
        yield f"    SHA-256 {file.sha256}, audio hash {file.audio_hash}"


def _facts(delivery: PastDelivery) -> Iterator[tuple[str, str]]:
    songs = words.counted(len(delivery.recordings), "song")
    files = f", {words.counted(len(delivery.files), 'file')}" if delivery.files else ""
    yield "content", f"{songs}{files}"
    yield "specs", "; ".join(_spec(spec) for spec in delivery.specs)
    yield "client", words.plain(delivery.client)
    for handover in delivery.handovers:
        yield "handed over", handed(handover)
    yield "approved", approved(delivery)
    for waiver in delivery.waivers:
        track = f", track {waiver['track']}" if waiver.get("track") else ""
        said = f"{waiver.get('rule')}{track}, by {waiver.get('by')}: {waiver.get('why')}"
        yield "waived", words.plain(said)
    yield "package", words.plain(delivery.path)
    yield "", "replaced by a later build in the same folder" if delivery.replaced else ""
    yield "fingerprint", delivery.fingerprint or "not known: recorded by an earlier version of this program"
    yield "sealed by", delivery.sealed_by


def _spec(spec: Mapping[str, object]) -> str:
    """'cd-rate-16, edition 2, checked 2026-11-25'."""
    more = [f"{name} {spec[name]}" for name in ("edition", "checked") if spec.get(name)]
    return words.plain(", ".join([str(spec.get("id", "")), *more]))


def handed(handover: Handover) -> str:
    """'2026-11-29 to Plant by M. (upload); answered 2026-12-01: received'."""
    how = f" ({words.plain(handover.how)})" if handover.how else ""
    answer = f"; answered {handover.answer_day}: {words.plain(handover.answer)}" if handover.answer else ""
    return f"{handover.day} to {words.plain(handover.recipient)} by {words.plain(handover.sender)}{how}{answer}"


def _song(delivery: PastDelivery, path: str) -> str:
    """', track 3, Low Water, ISRC ...'; empty for a whole disc or side."""
    file = next((each for each in delivery.files if each.path == path), None)
    song = next((each for each in delivery.recordings if file and each.position == file.track), None)
    if song is None:
        return ""
    isrc = f", {words.isrc(song.isrc)}" if song.isrc else ""
    return f": track {song.position}, {words.titled(song.title, song.version)}{isrc}"


OPEN_COLUMNS = ("Handed over", "To", "Release", "Rev", "State")


def open_row(out: Out) -> tuple[str, ...]:
    """Something that left, under `OPEN_COLUMNS`."""
    handover = out.handover
    return (
        handover.day,
        words.plain(handover.recipient),
        release(out.delivery),
        str(out.delivery.revision),
        state(out),
    )


def state(out: Out) -> str:
    """'not approved, no answer; revision 3 is built'."""
    said = ["" if out.approved else "not approved", "" if out.answered else "no answer"]
    newer = f"revision {out.newer_revision} is built, not handed over to them" if out.newer_revision else ""
    return "; ".join(text for text in (", ".join(filter(None, said)), newer) if text)


def last(delivery: PastDelivery) -> str:
    """The last delivery of a release, in one line: which revision, to whom, whether it is approved."""
    handed_over = "; ".join(handed(each) for each in delivery.handovers)
    approval = f"approved by {approved(delivery)}" if delivery.approvals else "not approved"
    built = f"revision {delivery.revision}" + (f", dated {delivery.dated}" if delivery.dated else "")
    return "; ".join((built, handed_over or "no hand-over noted", approval))
