"""The ledger of deliveries: remarks before a build, and a new entry after it.

Shown on the terminal only, so that a package does not depend on earlier deliveries.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from delivery.compare.codes_delivered import Recording, codes_delivered, release_code_delivered
from delivery.errors import Unusable
from delivery.pipeline.past_package import read_package
from delivery.pipeline.past_package import release_key as key_of_texts

if TYPE_CHECKING:
    from delivery.ledger.deliveries import DeliveryLedger
    from delivery.ledger.past import PastDelivery, SentRecording
    from delivery.model.approval import Approval
    from delivery.model.part import Delivery
    from delivery.model.release import Release


def remarks(delivery: Delivery, ledger: DeliveryLedger) -> tuple[str, ...]:
    """Codes of this release that were used for something else before."""
    release, key = delivery.release, release_key(delivery.release)
    now = tuple(_recordings(delivery))
    before = _before(ledger.sent_before(isrc=(one.isrc for one in now), audio_hash=(one.audio_hash for one in now)))
    under_upc = _before(ledger.sent_before(upc=[release.upc]))
    under_number = _before(ledger.sent_before(catalogue_number=[release.catalogue_number]))
    return (
        *codes_delivered(now, before),
        *release_code_delivered("bar code", release.upc, release.title, key, under_upc),
        *release_code_delivered("catalogue number", release.catalogue_number, release.title, key, under_number),
    )


def record(package: Path, ledger: DeliveryLedger) -> None:
    """Record the package that was just built; one that cannot be read becomes a remark."""
    try:
        ledger.record(read_package(package))
    except Unusable as fault:
        ledger.remarks.append(f"The delivery was not recorded. {fault}")


def last_delivery(release: Release, ledger: DeliveryLedger, below: int | None = None) -> PastDelivery | None:
    """The last delivery of *release*, with its data document; None: it was never delivered.

    Parameters
    ----------
    below : only revisions lower than this one; None: any
    """
    return ledger.last_of(release_key(release), below)


def approve(release: Release, approval: Approval, ledger: DeliveryLedger) -> int:
    """Note *approval* with the deliveries of *release* that hold exactly this audio; how many."""
    return ledger.approve(release_key(release), approval.by, approval.dated.isoformat(), approval.audio_hashes)


def release_key(release: Release) -> str:
    """The key that every delivery of this release has in the ledger."""
    names = ("catalogue_number", "artist", "title", "version")
    return key_of_texts({name: getattr(release, name) for name in names})


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
            source.audio_hash,
            float(source.measurement.value("duration_s") or 0.0),
            track.title,
            track.version,
        )


def _before(sent: tuple[SentRecording, ...]) -> tuple[Recording, ...]:
    return tuple(
        Recording(
            one.release_key, one.album, one.revision, one.position, one.isrc, one.audio_hash, one.duration_s, one.title,
            one.version,
        )
        for one in sent
    )  # fmt: skip
