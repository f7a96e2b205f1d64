"""Whether a release still holds what its client was sent: an answer in plain words names no audio and no titles."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import Any

from delivery.ledger.deliveries import DeliveryLedger
from delivery.model.copy_marks import compared_keys
from delivery.model.release import Release
from delivery.pipeline.deliveries import identity_of
from delivery.report.data.release import release_copy, track_copy


def changed_since_sent(
    release: Release, hashes: Mapping[int, str], positions: Collection[int], ledger: DeliveryLedger
) -> tuple[str, ...]:
    """What differs between the release now and its present revision as delivered, in words.

    Empty if nothing differs, or if no delivery of this revision is known. Where there are several, one that was
    handed over counts before one that was not, and of those the most similar one.

    Parameters
    ----------
    hashes : audio hash of each master now, by position
    positions : tracks that are to be approved; with all of them the release's own label copy counts too
    """
    sent = [one for one in ledger.of_revision(identity_of(release, hashes), release.revision) if not one.replaced]
    left = [one for one in sent if one.handovers] or sent
    whole = (ledger.get(one.id, document=True) for one in left)
    documents = [one.document for one in whole if one and one.document]
    found = [tuple(_differences(document, release, hashes, positions)) for document in documents]
    return min(found, key=len, default=())


def _differences(
    document: Mapping[str, Any], release: Release, hashes: Mapping[int, str], positions: Collection[int]
) -> Iterator[str]:
    sources = {source["track"]: source for source in document["sources"]}
    for track in release.tracks:
        if track.position not in positions:
            continue
        then, named = sources.get(track.position), f"track {track.position} {track.title!r}"
        if then is None:
            yield f"{named} was not in it"
            continue
        measured = then["measured"] or {"figures": {}}
        if str(measured["figures"].get("audio_hash") or "") != hashes[track.position]:
            yield f"{named} had other audio"
        yield from _of_copy(named, then, track_copy(track), compared_keys(of_release=False))
    if set(positions) >= set(hashes):
        then, now = document["release"], release_copy(release)
        yield from _of_copy("the release", then, now, compared_keys(of_release=True))


def _of_copy(named: str, then: Mapping[str, Any], now: Mapping[str, Any], keys: Collection[str]) -> Iterator[str]:
    """A value that had not been supplied may be there now: it is no change of what was approved."""
    for key in sorted(keys):
        if key in now and then.get(key) not in (None, "", [], now[key]):
            yield f"{key.replace('_', ' ')} of {named} was {_shown(then[key])}"


def _shown(value: Any) -> str:
    return repr(value) if isinstance(value, str | int | float) else "other"
