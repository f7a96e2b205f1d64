"""The ledger of deliveries: remarks before a build, and a new entry after it.

Shown on the terminal only, so that a package does not depend on earlier deliveries.
"""

from __future__ import annotations

from collections.abc import Iterator

from delivery.compare.codes_sent import Recording, barcode_sent, codes_sent
from delivery.ledger.sent import Sent, SentLedger
from delivery.model.artist import display_artist
from delivery.model.part import Delivery
from delivery.model.release import Release


def remarks(delivery: Delivery, ledger: SentLedger) -> tuple[str, ...]:
    """Codes of this release that were used for something else before."""
    release = delivery.release
    now = tuple(_recordings(delivery))
    told = ledger.like(isrc=(one.isrc for one in now), audio_hash=(one.audio_hash for one in now))
    before = tuple(_recording(sent) for sent in told)
    under_code = tuple(_recording(sent) for sent in ledger.like(upc=[release.upc])) if release.upc else ()
    said = (*codes_sent(now, before), *barcode_sent(release.title, release_key(release), release.upc, under_code))
    return (*said, *ledger.remarks)


def record(delivery: Delivery, ledger: SentLedger) -> None:
    """Record the delivery: one row for each recording."""
    release = delivery.release
    shipped: dict[int, set[str]] = {}
    for part in delivery.parts:
        if part.shipped:
            shipped.setdefault(part.track, set()).add(part.spec)
    versions = {track.position: track for track in release.tracks}
    ledger.record(
        Sent(
            one.release, one.album, release.catalogue_number, release.upc, one.revision, one.position, one.isrc,
            one.audio_hash, one.duration_s, one.title, one.version,
            display_artist(versions[one.position].artists, release.artist),
            " ".join(sorted(shipped[one.position])), release.dated.isoformat() if release.dated else "",
        )
        for one in _recordings(delivery)
        if one.position in shipped
    )  # fmt: skip


def release_key(release: Release) -> str:
    """Catalogue number and title, artist and version: the key that a repeated delivery shares."""
    parts = (release.catalogue_number, release.artist, release.title, release.version)
    return "\n".join(" ".join(part.casefold().split()) for part in parts)


def _recordings(delivery: Delivery) -> Iterator[Recording]:
    release = delivery.release
    for source in delivery.sources:
        if source.measurement is None:
            continue
        track = source.track
        yield Recording(
            release_key(release),
            release.title,
            release.revision,
            track.position,
            track.isrc,
            str(source.measurement.value("audio_hash") or ""),
            float(source.measurement.value("duration_s") or 0.0),
            track.title,
            track.version,
        )


def _recording(sent: Sent) -> Recording:
    return Recording(
        sent.release, sent.album, sent.revision, sent.position, sent.isrc, sent.audio_hash, sent.duration_s, sent.title,
        sent.version,
    )  # fmt: skip
