"""Whether a package holds what was approved: compared with the release file beside it, else with the ledger."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from delivery.absolute import absolute
from delivery.compare.changes import changes
from delivery.errors import DeliveryError, Unusable
from delivery.intake import load_release
from delivery.ledger.deliveries import DeliveryLedger
from delivery.ledger.past import PastDelivery
from delivery.ledger.same_release import identity_of, same_by
from delivery.model.approval import Approval
from delivery.model.changes import About, Changes
from delivery.model.copy_marks import copy_marks
from delivery.model.finding import Answer
from delivery.model.release import Release
from delivery.pipeline.deliveries import identity_of as identity_of_release
from delivery.pipeline.earlier import UNREADABLE
from delivery.report.data.release import release_copy, track_copy
from delivery.report.view.changes import changes_lines

RULE = "approved"
RELEASE_FILE = "release.yaml"
APPROVED = frozenset({About.TITLES, About.CODES, About.CREDITS, About.ORDER, About.GAPS, About.LABEL_COPY})
"""Changes of label copy and order, for which an approval does not hold."""


@dataclass(frozen=True, slots=True)
class Compared:
    """A package beside what was approved."""

    differences: tuple[str, ...] = ()
    """In words; empty: none, or waived in the package."""
    remark: str = ""
    """Remarks on a package that may leave."""


WAIVED = Compared(remark="It differs from what was approved; that is waived in the package.")


def beside_approval(package: Path, delivery: PastDelivery, ledger: DeliveryLedger) -> Compared:
    """*package* beside what was approved of its release.

    Parameters
    ----------
    delivery : the package, with its data document
    """
    document = delivery.document or {}
    waived = {waiver.get("track") for waiver in delivery.waivers if waiver["rule"] == RULE}
    about = [one for one in document.get("findings", ()) if one["rule"] == RULE]
    found = [one["found"] for one in about if one["answer"] == Answer.NOT_MET.value]
    if found:
        return Compared(tuple(found))
    release = _release_beside(package, delivery)
    if release is None or release.approval is None:
        if None in waived:
            return WAIVED
        return _beside_ledger(delivery, document, ledger, waived, withdrawn=release is not None)
    differences = list(_differences(document, release, release.approval))
    refused = tuple(text for track, text in differences if not {None, track} & waived)
    return WAIVED if differences and not refused else Compared(refused)


def _release_beside(package: Path, delivery: PastDelivery) -> Release | None:
    """The release file in the folder of the package or the one above, if it is of this release and can be read."""
    for folder in absolute(package).parents[:2]:
        if (folder / RELEASE_FILE).is_file():
            try:
                release = load_release(folder / RELEASE_FILE)
            except DeliveryError:
                continue
            heard = dict(enumerate(release.approval.audio_hashes, start=1)) if release.approval else {}
            if same_by(identity_of_release(release, heard), identity_of(delivery)):
                return release
    return None


def _differences(document: Mapping[str, Any], release: Release, given: Approval) -> Iterator[tuple[int | None, str]]:
    """Each with the position of its track; None: the release."""
    for text in _of_copy("the release", document["release"], release_copy(release), given, 0, release):
        yield None, text
    for source in document["sources"]:
        position = source["track"]
        by, day = given.given_for(position)
        named = f"track {source['number']} {source['title']!r}"
        if position > len(given.audio_hashes):
            yield position, f"{named} was not there when {by} approved the release on {day.isoformat()}"
            continue
        audio_hash = str((source["measured"] or {"figures": {}})["figures"].get("audio_hash") or "")
        if given.hash_at(position) and not given.covers(position, audio_hash):
            yield position, f"{named} has other audio than {by} approved on {day.isoformat()}"
        tracks = [track for track in release.tracks if track.position == position]
        for track in tracks:
            for text in _of_copy(named, source, track_copy(track), given, position, release):
                yield position, text


def _of_copy(
    whose: str, then: Mapping[str, Any], now: Mapping[str, Any], given: Approval, position: int, release: Release
) -> Iterator[str]:
    """Fields of the package that are not as approved. An approval holds hashes alone: a field that the release file
    has changed since it was approved cannot be compared with the package."""
    approved, present = given.copy_at(position), copy_marks(release)[position]
    by, day = given.given_for(position)
    title = f"{then['title']} ({then['version']})" if then["version"] else then["title"]
    if approved.title and title != approved.title:
        yield f"title of {whose} is {title!r}; {by} approved {approved.title!r} on {day.isoformat()}"
    for key, mark in sorted(approved.fields.items()):
        if present.fields.get(key) == mark and key in then and key in now and then[key] != now[key]:
            yield f"{key.replace('_', ' ')} of {whose} is not what {by} approved on {day.isoformat()}"


def _beside_ledger(
    delivery: PastDelivery,
    document: Mapping[str, Any],
    ledger: DeliveryLedger,
    waived: Collection[int | None],
    *,
    withdrawn: bool,
) -> Compared:
    """Beside the last approved delivery that the ledger holds.

    Parameters
    ----------
    waived : positions of tracks that may differ
    withdrawn : the release file beside the package holds no approval any more, as after a requested change: a later
        revision may leave, to be approved
    """
    if delivery.approvals:
        return Compared()
    approved = ledger.last_approved(identity_of(delivery))
    if approved is None:
        return Compared(remark="No approval of all tracks of this release is recorded yet.")
    by, day = approved.approvals[-1]
    what = f"revision {approved.revision}, approved by {by}{f' on {day}' if day else ''}"
    later = delivery.revision > approved.revision
    try:
        found = changes(approved.document or {}, document)
    except UNREADABLE:
        found = None
    if later and (withdrawn or (found and not _concerns_approval(found))):
        return Compared(remark=f"This revision is not approved yet. The last one approved is {what}.")
    if found and waived and not _concerns_approval(found, _numbers(document, waived)):
        return WAIVED
    return Compared((f"it is not {what}", *(changes_lines(found) if found else ())))


def _concerns_approval(found: Changes, waived: Collection[str] = ()) -> bool:
    """True if audio, order or label copy differ: what an approval is given for.

    Parameters
    ----------
    waived : printed numbers of tracks that may differ
    """
    audio = any(not (each.same_samples or each.track in waived) for each in found.audio)
    copied = any(value.about in APPROVED and value.track not in waived for value in found.values)
    return audio or copied or bool(found.added or found.removed or found.moved)


def _numbers(document: Mapping[str, Any], positions: Collection[int | None]) -> frozenset[str]:
    """Printed numbers of these tracks in the data of a package: '3', or '2.3' where there are several discs."""
    several = len({source["disc"] for source in document["sources"]}) > 1
    return frozenset(
        f"{source['disc']}.{source['number']}" if several else str(source["number"])
        for source in document["sources"]
        if source["track"] in positions
    )


def refusal(package: Path, compared: Compared) -> Unusable:
    """Why the package is not handed over."""
    return Unusable(
        package.name,
        "; ".join(text.rstrip(".") for text in compared.differences),
        "what was approved",
        "Nothing was noted. Build the approved version, have this one approved (delivery approve), or build it "
        f"with --waive {RULE}.",
    )
