"""Trial files, made in a temporary folder, answer requirements that the masters' figures leave open."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

from delivery.model.album import ALBUM_LOUDNESS
from delivery.model.carried import Passage
from delivery.model.part import Delivery, Image, Part
from delivery.model.spec import Spec
from delivery.pipeline import images
from delivery.pipeline.judge_part import album_loudness
from delivery.pipeline.make_part import Task, settle, worth_a_trial
from delivery.pipeline.options import Options
from delivery.pipeline.package_folder import PackageFolder
from delivery.pipeline.songs import FINE, album_judged, make_all, tasks_of
from delivery.pipeline.sources import side_by_side
from delivery.pipeline.unsettled import SIZE_LIMIT, album_unsettled


def settled(planned: Delivery, options: Options, *, failed_only: bool = False) -> Delivery:
    """Answer, from trial files, the requirements that only finished files can answer.

    Parameters
    ----------
    failed_only : skip those predicted to be met, for they are about to be made and judged anyway
    """
    for spec in planned.specs:
        if _only_as_a_whole(planned, spec) and not (failed_only and planned.spec_result(spec.id) in FINE):
            planned = _whole_spec_tried(planned, spec, options)
    return _parts_tried(planned, options, failed_only=failed_only)


def _only_as_a_whole(planned: Delivery, spec: Spec) -> bool:
    """True if songs depend on each other: by a trim after encoding, or by album loudness."""
    own = planned.for_spec(spec.id)
    parts = own.of_spec(spec.id)
    if spec.carrier is not None:
        return False
    if spec.conversions.gain == "down_to_ceiling" and any(set(part.unsettled) - {SIZE_LIMIT} for part in parts):
        return True
    made = [(s.measurement, part.chain) for s, part in zip(own.sources, parts, strict=True)]
    return album_unsettled(spec, album_loudness(spec, own.sources, parts).value, made)


def _whole_spec_tried(planned: Delivery, spec: Spec, options: Options) -> Delivery:
    """Make and judge every song file of *spec* as a build would, then delete it."""
    worth: Callable[[Spec, Part], bool] = lambda one, part: one is spec and (part.result in FINE or worth_a_trial(part))  # noqa: E731
    tasks = tasks_of(planned, worth, ignoring=(ALBUM_LOUDNESS,))
    with TemporaryDirectory(prefix="delivery-") as name:
        folder = PackageFolder(Path(name))
        made = replace(planned, parts=make_all(planned, tasks, folder, options, {}))
        made = album_judged(made, folder)
    tried = {(spec.id, task.part.track) for task in tasks}
    both = zip(planned.parts, made.parts, strict=True)
    parts = tuple(
        _unmade(after, before.passage) if (after.spec, after.track) in tried else before for before, after in both
    )
    return replace(planned, parts=parts, findings=made.findings)


def _unmade(tried: Part, passage: Passage) -> Part:
    """A part without the results of its trial."""
    return replace(tried, shipped=None, passage=passage, unsettled=())


def _parts_tried(planned: Delivery, options: Options, *, failed_only: bool) -> Delivery:
    """Judge the parts whose figures are close to a limit by trial files.

    Parameters
    ----------
    failed_only : skip those predicted to meet it, for they are about to be made and judged anyway
    """
    worth: Callable[[Spec, Part], bool] = lambda _, part: worth_a_trial(part)  # noqa: E731
    close = [task for task in tasks_of(planned, worth) if not (failed_only and task.part.result in FINE)]
    if not close:
        return planned
    releases = {spec.id: planned.for_spec(spec.id).release for spec in planned.specs}
    work: Callable[[Task], Part] = lambda task: settle(task, releases[task.spec.id], options.cache)  # noqa: E731
    parts = side_by_side(work, close, options.workers, "making files for a trial", options.progress)
    found = {(part.spec, part.track): part for part in parts}
    return replace(planned, parts=tuple(found.get((part.spec, part.track), part) for part in planned.parts))


def images_tried(planned: Delivery, options: Options) -> Delivery:
    """Join discs and sides for a trial where a must needs figures of the whole file."""
    tasks = [task for task in images.tasks(planned) if images.worth_a_trial(task.spec)]
    if not tasks:
        return planned
    with TemporaryDirectory(prefix="delivery-") as name:
        folder = PackageFolder(Path(name))
        work: Callable[[images.ImageTask], Image] = lambda task: images.tried(task, planned.release, folder)  # noqa: E731
        tried = side_by_side(work, tasks, options.workers, "joining discs and sides for a trial", options.progress)
    found = {(image.spec, image.programme.label): image for image in tried}
    known = tuple(found.get((image.spec, image.programme.label), image) for image in planned.images)
    return replace(planned, images=known)
