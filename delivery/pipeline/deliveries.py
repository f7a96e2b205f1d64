"""The ledger of deliveries: remarks before a build, and a new entry after it.

Shown on the terminal only, so that a package does not depend on earlier deliveries.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from delivery.compare.codes_delivered import codes_delivered, release_code_delivered
from delivery.errors import Unusable
from delivery.ledger.same_release import ReleaseIdentity
from delivery.ledger.same_release import identity_of as identity_of_past
from delivery.model.recording import Recording
from delivery.pipeline.past_package import read_package
from delivery.pipeline.past_package import release_key as key_of_texts

if TYPE_CHECKING:
    from delivery.ledger.deliveries import DeliveryLedger
    from delivery.ledger.past import PastDelivery
    from delivery.model.approval import Approval
    from delivery.model.part import Delivery
    from delivery.model.release import Release

UNHEARD: Mapping[int, str] = {}
"""No master was read yet."""


def remarks(delivery: Delivery, ledger: DeliveryLedger) -> tuple[str, ...]:
    """Codes of this release that were used for something else before."""
    release = delivery.release
    key, *older = ledger.keys_of(identity_of(release, heard_in(delivery))) or (release_key(release),)
    now = tuple(_recordings(delivery, key))

    def before(sent: tuple[Recording, ...]) -> tuple[Recording, ...]:
        return tuple(replace(one, release=key) if one.release in older else one for one in sent)

    of_tracks = ledger.sent_before(isrc=(one.isrc for one in now), audio_hash=(one.audio_hash for one in now))
    under_upc = before(ledger.sent_before(upc=[release.upc]))
    under_number = before(ledger.sent_before(catalogue_number=[release.catalogue_number]))
    return (
        *codes_delivered(now, before(of_tracks)),
        *release_code_delivered("bar code", release.upc, release.title, key, under_upc),
        *release_code_delivered("catalogue number", release.catalogue_number, release.title, key, under_number),
    )


def record(package: Path, ledger: DeliveryLedger) -> PastDelivery | None:
    """Record the package that was just built; None: it cannot be read, which becomes a remark."""
    try:
        built = read_package(package)
    except Unusable as fault:
        ledger.remarks.append(f"The delivery was not recorded. {fault}")
        return None
    ledger.record(built)
    return built


def handed_over_otherwise(delivery: Delivery, built: PastDelivery, ledger: DeliveryLedger) -> tuple[str, ...]:
    """A sentence for each hand-over of this revision with other files, for a spec that *built* is for as well.

    Parameters
    ----------
    built : the package made from *delivery*, as `record` read it
    """
    printed, specs = built.fingerprint, {spec.id for spec in delivery.specs}
    sent = ledger.of_revision(identity_of(delivery.release, heard_in(delivery)), delivery.release.revision)
    return tuple(
        f"Revision {each.revision} was handed over to {one.recipient} on {one.day} with other files: raise the "
        "revision before this package leaves."
        for each in sent
        if each.fingerprint != printed and specs & {spec["id"] for spec in each.specs}
        for one in each.handovers
    )


def superseded(past: PastDelivery, ledger: DeliveryLedger) -> str:
    """'Revision 3 of this release is in the ledger; this is revision 1.', or '' if *past* is of the last one."""
    last = ledger.last_of(identity_of_past(past), document=False)
    if last is None or last.revision <= past.revision:
        return ""
    return f"Revision {last.revision} of this release is in the ledger; this is revision {past.revision}."


def last_delivery(
    release: Release,
    ledger: DeliveryLedger,
    below: int | None = None,
    heard: Mapping[int, str] = UNHEARD,
    specs: Collection[str] = (),
) -> PastDelivery | None:
    """The last delivery of *release*, with its data document; None: it was never delivered.

    Parameters
    ----------
    below : only revisions lower than this one; None: any
    heard : as `identity_of`
    specs : as `DeliveryLedger.last_of`
    """
    return ledger.last_of(identity_of(release, heard), below, specs=specs)


def approve(release: Release, approval: Approval, ledger: DeliveryLedger) -> int:
    """Note *approval* with the deliveries of *release* that hold exactly this audio; how many."""
    identity = identity_of(release, dict(enumerate(approval.audio_hashes, start=1)))
    return ledger.approve(identity, approval.by, approval.dated.isoformat(), approval.audio_hashes)


def release_key(release: Release) -> str:
    """The key of a release that was never delivered."""
    names = ("catalogue_number", "artist", "title", "version")
    return key_of_texts({name: getattr(release, name) for name in names})


def heard_in(delivery: Delivery) -> dict[int, str]:
    """Audio hashes of the masters, by position; '' for one that could not be read."""
    return {source.track.position: source.audio_hash for source in delivery.sources}


def identity_of(release: Release, heard: Mapping[int, str] = UNHEARD) -> ReleaseIdentity:
    """What the ledger recognises *release* by.

    Parameters
    ----------
    heard : audio hashes of its masters, by position, as far as they are known
    """
    return ReleaseIdentity(
        release.title,
        release.version,
        release.artist,
        release.label,
        release.catalogue_number,
        release.upc,
        tuple((track.isrc, heard.get(track.position, "")) for track in release.tracks),
    )


def _recordings(delivery: Delivery, key: str) -> Iterator[Recording]:
    release = delivery.release
    for source in delivery.sources:
        if source.measurement is None:
            continue
        track = source.track
        yield Recording(
            key,
            release.title,
            release.revision,
            track.position,
            track.isrc,
            source.audio_hash,
            float(source.measurement.value("duration_s") or 0.0),
            track.title,
            track.version,
        )
