"""The last delivery of a release: from the ledger, or from a package in the folder of the release file."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from pathlib import Path

from delivery.errors import Unreadable, Unusable
from delivery.ledger.past import PastDelivery
from delivery.meters import meters_version
from delivery.model.part import Delivery
from delivery.model.release import Release, Studio
from delivery.model.spec import Spec
from delivery.pack import layout
from delivery.pipeline.deliveries import last_delivery
from delivery.pipeline.earlier import Earlier, in_folder
from delivery.pipeline.past_package import is_package, read_package
from delivery.pipeline.run import Built
from delivery.tasks.stores import MeasurementCache, deliveries_of

__all__ = ["Earlier", "earlier_deliveries", "last_built"]


def earlier_deliveries(
    release: Release, studio: Studio, folder: Path | None = None, specs: Iterable[Spec] = ()
) -> tuple[Earlier, ...]:
    """Known deliveries of *release*, lowest revision first: the ledger's last ones, and packages in *folder*.

    Parameters
    ----------
    specs : of the delivery now; none: those of the release file, by their names
    """
    there = in_folder(folder, release) if folder else ()
    named = [each.id for each in specs] or [Path(name).stem for name in release.deliver_to or studio.default_specs]
    return tuple(sorted((*_from_ledger(release, studio, named), *there), key=lambda each: each.revision))


def last_built(delivery: Delivery, known: Sequence[Earlier]) -> Built | None:
    """The last package of *known* that is still there, as if it had been built now; None: there is none."""
    there = [each for each in known if each.package]
    last = max(there, key=lambda each: each.revision, default=None)
    if last is None or last.package is None:
        return None
    try:
        printed = read_package(last.package).fingerprint
    except Unusable:
        return None
    mail = last.package.with_name(layout.mail_name(last.package.name))
    return Built(delivery, last.package, None, printed, mail if mail.is_file() else None, unchanged=True)


def _from_ledger(release: Release, studio: Studio, specs: Collection[str]) -> Iterator[Earlier]:
    """Its last delivery, and its last one of a lower revision: a sheet compares with the latter alone."""
    ledger = deliveries_of(studio)
    found = [last_delivery(release, ledger, below, specs=specs) for below in (None, release.revision)]
    if not any(found) and ledger.usable and ledger.path.is_file():
        heard = _heard(release, ledger.path)
        found = [last_delivery(release, ledger, below, heard, specs) for below in (None, release.revision)]
    for past in {each.id: each for each in found if each}.values():
        if past.document:
            yield Earlier(past.revision, past.document, _where(past))


def _heard(release: Release, ledger: Path) -> dict[int, str]:
    """Audio hashes of the masters measured before: they identify a release whose title changed and that has no code."""
    with MeasurementCache(ledger) as cache:
        return {track.position: _known_hash(track.file, cache) for track in release.tracks}


def _known_hash(master: Path, cache: MeasurementCache) -> str:
    try:
        measurement = cache.get(cache.sha256(master), meters_version())
    except Unreadable:
        return ""  # the check reports it
    return str(measurement.value("audio_hash") or "") if measurement else ""


def _where(past: PastDelivery) -> Path | None:
    """Its folder, if that package is still there."""
    folder = Path(past.path)
    try:
        same = is_package(folder) and read_package(folder).fingerprint == past.fingerprint
    except Unusable:
        return None
    return folder if same else None
