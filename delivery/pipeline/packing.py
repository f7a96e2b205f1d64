"""Make the planned package: every file in a hidden folder, then its papers and the bag, then one rename."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

from delivery.errors import Unfinished
from delivery.ledger.file_state import file_sha256
from delivery.model.part import Delivery, Image, Source
from delivery.pack.swap import whole_or_nothing
from delivery.pipeline import images, package
from delivery.pipeline.join_remarks import with_joins
from delivery.pipeline.made_before import MadeBefore
from delivery.pipeline.make_part import Task
from delivery.pipeline.options import Options
from delivery.pipeline.package_folder import Lost, PackageFolder
from delivery.pipeline.songs import album_judged, make_all
from delivery.pipeline.sources import quiet, side_by_side


@dataclass(frozen=True, slots=True)
class Planned:
    """A package to make."""

    delivery: Delivery
    songs: list[Task]
    images: list[images.ImageTask]
    covers: Mapping[str, bytes]
    """As `package.pictures` gives them."""


class NothingToShip(Exception):
    """Raised inside the hidden folder so that it is deleted: every part was refused."""

    def __init__(self, delivery: Delivery) -> None:
        super().__init__(delivery)
        self.delivery = delivery


def pack(planned: Planned, target: Path, options: Options, before: MadeBefore) -> tuple[Delivery, str]:
    """Make the package *target*; what was delivered, and the package's fingerprint.

    Papers are set while files of earlier packages are still being copied and the masters are read again. Where one of
    those files turns out to be damaged, the package is made again without it.

    Raises
    ------
    NothingToShip : every part was refused; there is no package
    Occupied, Unfinished : as `build`
    """
    while True:
        try:
            return _packed(planned, target, options, before)
        except Lost as lost:
            before = before.without(lost.files)


def _packed(planned: Planned, target: Path, options: Options, before: MadeBefore) -> tuple[Delivery, str]:
    delivery, covers = planned.delivery, planned.covers
    with (
        whole_or_nothing(target, replace=options.replace) as hidden,
        PackageFolder(hidden, before.files) as folder,
        ThreadPoolExecutor(1) as aside,
    ):
        aside.submit(package.prepare, delivery)
        parts = make_all(delivery, planned.songs, folder, options, covers, before)
        delivery = album_judged(replace(delivery, parts=parts), folder)
        delivery = _make_images(delivery, planned.images, folder, options, before)
        reading_again = aside.submit(_sources_unchanged, delivery.sources, options)
        delivery = with_joins(delivery)
        if not any(part.shipped or part.inside for part in delivery.parts):
            reading_again.result()
            raise NothingToShip(delivery)
        shipped = (*(part.shipped for part in delivery.parts), *(image.shipped for image in delivery.images))
        folder.flush(filter(None, shipped))
        package.write(hidden, delivery, options.page, covers, options.sheet, options.beside)
        reading_again.result()
        folder.settled(options.progress)
        package.write_lists(hidden, delivery)
        return delivery, package.sealed(hidden, options.sign)


def _make_images(
    planned: Delivery, tasks: list[images.ImageTask], folder: PackageFolder, options: Options, before: MadeBefore
) -> Delivery:
    """Join the discs and sides; each song then names the file that holds it."""
    if not tasks:
        return planned
    work: Callable[[images.ImageTask], Image] = lambda task: images.make(task, planned.release, folder, before)  # noqa: E731
    made = side_by_side(work, tasks, options.workers, "joining discs and sides", options.progress)
    found = {(image.spec, image.programme.label): image for image in images.whole_carriers(made, folder)}
    joined = tuple(found.get((image.spec, image.programme.label), image) for image in planned.images)
    return replace(planned, images=joined, parts=images.inside(planned.parts, joined))


def _sources_unchanged(sources: tuple[Source, ...], options: Options) -> None:
    """Check that the masters are still the same bytes as when the job began.

    With a cache, a master whose path, size and times are those it was hashed with is not read again: the times that
    said at the start which bytes it holds say so at the end.

    Raises
    ------
    Unfinished : one has changed; the package is not written
    """
    hashed = options.cache.sha256 if options.cache else file_sha256
    known = [source for source in sources if source.sha256]
    files = [source.track.file for source in known]
    found = side_by_side(hashed, files, options.workers, "reading masters again", quiet)
    for source, sha256 in zip(known, found, strict=True):
        if sha256 != source.sha256:
            name = source.track.file.name
            raise Unfinished(name, "other bytes than at the start", "an unchanged master", "Build again.")
