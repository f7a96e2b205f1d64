"""Check and build: masters in, a table or a package out. `from_masters` has the steps that follow the measuring."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from importlib import import_module
from pathlib import Path

from delivery.model.part import Delivery, Source
from delivery.model.release import Release
from delivery.model.release_for import received
from delivery.pack.names import folder_name
from delivery.pipeline.built import Built
from delivery.pipeline.confirm import refuse_unconfirmed
from delivery.pipeline.earlier import in_folder
from delivery.pipeline.occupied import refuse_inside_package, refuse_occupied
from delivery.pipeline.options import Options
from delivery.pipeline.request import Request
from delivery.pipeline.sources import take_in

__all__ = ["Built", "Options", "build", "check"]

DEFAULT = Options()


def check(request: Request, options: Options = DEFAULT) -> Delivery:
    """Measure and judge; write nothing."""
    release, sources = _measured(request, options)
    from delivery.pipeline.from_masters import checked

    return checked(request, release, sources, options)


def build(request: Request, into: str | Path, options: Options = DEFAULT) -> Built:
    """Build the package of *request* in the folder *into*, atomically.

    Raises
    ------
    NotConfirmed : the release has unconfirmed values from file names
    Occupied : the package is there already and ``options.replace`` is False
    Unfinished : the machine failed: disk full, no permission, a master that changed while it was used
    """
    refuse_unconfirmed(request.release)
    into = Path(into)
    refuse_inside_package(into)
    known = (*options.earlier, *in_folder(into, request.release))
    if not known and not options.replace:
        refuse_occupied(into / folder_name(request.release), request.release, {}, replace=options.replace)
    release, sources = _measured(request, options)
    from delivery.pipeline.from_masters import built

    return built(request, release, sources, known, into, options)


def _measured(request: Request, options: Options) -> tuple[Release, tuple[Source, ...]]:
    """The release as all specs together receive it, with its masters measured.

    Meanwhile the cover is inspected, in a process of its own, and what follows is loaded.
    """
    release = received(request.release, [spec.id for spec in request.specs])
    with ThreadPoolExecutor(1) as aside:
        aside.submit(request.cover)
        sources = take_in(
            release.tracks,
            options.cache,
            options.workers,
            options.progress,
            engine=options.engine,
            meanwhile=lambda: import_module("delivery.pipeline.from_masters"),
        )
    return release, sources
