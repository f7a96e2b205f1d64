"""Make all song files of a delivery in parallel, trim where permitted, and judge the album by them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path

from delivery.model.finding import Finding, Result, worst
from delivery.model.part import Delivery, Part
from delivery.model.release import Release
from delivery.model.spec import Spec
from delivery.pack import layout
from delivery.pipeline.elsewhere import forget_abandoned, make_elsewhere
from delivery.pipeline.joined_songs import place
from delivery.pipeline.judge_part import album_as_shipped, gain_db
from delivery.pipeline.made_before import NOTHING, MadeBefore
from delivery.pipeline.make_part import (
    Task,
    at_gain,
    digest_of,
    make,
    recalled,
    rendering_of,
    taken_away,
    taken_over,
    trims_db,
    without_file,
)
from delivery.pipeline.options import Options, width_of
from delivery.pipeline.package_folder import PackageFolder
from delivery.pipeline.sources import side_by_side

FINE = (Result.READY, Result.REMARKS)
MOST_TRIMS = 6
"""A trim moves the peak by its own amount, within dither; more attempts mean that something else is wrong."""
MORE_DB = (0.0, 0.0, 0.05, 0.1, 0.2, 0.4)
"""Extra reduction at each attempt: an encoder's peaks follow a trim only roughly."""


def _fine(_spec: Spec, part: Part) -> bool:
    return part.result in FINE


def tasks_of(
    planned: Delivery, worth: Callable[[Spec, Part], bool] = _fine, ignoring: Collection[str] = ()
) -> list[Task]:
    """The parts worth making: no finding already refuses the release or the track.

    Parameters
    ----------
    ignoring : spec keys about the release whose answers do not count
    """
    return [
        Task(spec, own.source(part.track), part, place(own, part))
        for spec in planned.specs
        if spec.carrier is None and worst(_about(spec, planned.findings, ignoring)) in FINE
        for own in [planned.for_spec(spec.id)]
        for part in planned.of_spec(spec.id)
        if worth(spec, part)
    ]


def _about(spec: Spec, findings: Iterable[Finding], ignoring: Collection[str]) -> Iterator[Result]:
    return (each.result for each in findings if each.spec == spec.id and each.rule not in ignoring)


def make_all(
    planned: Delivery,
    tasks: list[Task],
    folder: PackageFolder,
    options: Options,
    covers: Mapping[str, bytes],
    before: MadeBefore = NOTHING,
) -> tuple[Part, ...]:
    """Make every task, then make parts again at a lower level if their peaks grew and the spec permits gain to the
    ceiling.

    Parameters
    ----------
    before : files that need not be made again
    """
    last: dict[tuple[str, int], tuple[Task, Part | None]] = {}
    """Of each file the last attempt, and what was recalled of it."""

    def work(task: Task) -> Part:
        release, cover = releases[task.spec.id], covers.get(task.spec.id)
        key = task.spec.id, task.part.track
        if key in last:
            folder.remove(layout.part(task.spec.id, task.part.name))  # it had another level
        found = recalled(task, release, cover, before)
        last[key] = (task, found)
        if found and found.shipped:
            folder.bring(found.shipped)  # where another attempt follows, no package holds this one
        part = found or _made(task, release, folder.path, cover, before, options)
        if found is None and part.shipped:
            rendering = rendering_of(replace(task, part=part))
            before.remember(digest_of(task, release, cover), part.shipped, gain_db(part), rendering=rendering)
        return part

    def brought(key: tuple[str, int]) -> Part:
        task, found = last[key]
        assert found
        return taken_over(task, found, releases[task.spec.id], folder, covers.get(task.spec.id), before)

    made: dict[tuple[str, int], Part] = {(part.spec, part.track): part for part in planned.parts}
    releases = {spec.id: planned.for_spec(spec.id).release for spec in planned.specs}
    todo = tasks
    for attempt in range(MOST_TRIMS):
        text = "making parts" if not attempt else "making parts again, trimmed to the ceiling"
        name: Callable[[Task], str] = lambda task: f"track {task.part.track}, {task.spec.id}"  # noqa: E731
        parts = side_by_side(work, todo, width_of(options), text, options.progress, name)
        made |= {(part.spec, part.track): part for part in parts}
        todo = _again(planned, tasks, made, MORE_DB[attempt])
        if not todo:
            break
    forget_abandoned(folder.path)
    unmade = [key for key, (_, found) in last.items() if found]
    for part in side_by_side(brought, unmade, options.workers, "reading unchanged files", options.progress):
        made[part.spec, part.track] = part
    return tuple(without_file(part, folder) for part in made.values())


def _made(
    task: Task, release: Release, folder: Path, cover: bytes | None, before: MadeBefore, options: Options
) -> Part:
    if options.engine is None or options.engine.is_local:
        return make(task, release, folder, cover, before)
    return make_elsewhere(task, release, folder, cover, options.engine)


def album_judged(delivery: Delivery, folder: PackageFolder) -> Delivery:
    """Answer album loudness from the written files; if it is not met, no file is kept."""
    found = [
        finding
        for spec in delivery.specs
        if any(part.shipped for part in delivery.of_spec(spec.id))
        for finding in _album_loudness(delivery.for_spec(spec.id), spec)
    ]
    requested = {(finding.spec, finding.rule) for finding in found}
    others = [finding for finding in delivery.findings if (finding.spec, finding.rule) not in requested]
    short = {finding.spec for finding in found if finding.result not in (Result.READY, Result.REMARKS)}
    parts = tuple(taken_away(part, folder) if part.shipped and part.spec in short else part for part in delivery.parts)
    return replace(delivery, parts=parts, findings=(*others, *found))


def _album_loudness(own: Delivery, spec: Spec) -> tuple[Finding, ...]:
    return album_as_shipped(own.release, spec, own.sources, own.of_spec(spec.id))


def _again(planned: Delivery, tasks: list[Task], made: dict[tuple[str, int], Part], more_db: float) -> list[Task]:
    again = []
    for spec in planned.specs:
        parts = tuple(part for part in made.values() if part.spec == spec.id)
        gains = {track: gain - more_db for track, gain in trims_db(spec, parts).items()}
        again += [
            at_gain(task, gains[task.part.track]) for task in tasks if task.spec is spec and task.part.track in gains
        ]
    return again
