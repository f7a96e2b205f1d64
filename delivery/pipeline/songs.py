"""Make all song files of a delivery in parallel, trim where permitted, and judge the album by them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

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
    folder : where files of earlier packages may still be on their way when this returns
    before : files that need not be made again

    Raises
    ------
    Lost : a file of an earlier package is damaged
    """
    releases = {spec.id: planned.for_spec(spec.id).release for spec in planned.specs}
    maker = _Maker(releases, folder, options, covers, before)
    made = {_key(part): part for part in planned.parts}
    todo = tasks
    for attempt in range(MOST_TRIMS):
        text = "making parts" if not attempt else "making parts again, trimmed to the ceiling"
        made |= maker.attempt(todo, text)
        todo = _again(planned, tasks, made, MORE_DB[attempt])
        if not todo:
            break
    forget_abandoned(folder.path)
    made |= maker.made(maker.new_part, maker.without_file(), "making parts whose files are gone")
    return tuple(without_file(part, folder) for part in made.values())


@dataclass(frozen=True, slots=True)
class _Maker:
    """Makes the song files of a package, or takes them over."""

    releases: Mapping[str, Release]
    """By spec, as it receives the release."""
    folder: PackageFolder
    options: Options
    covers: Mapping[str, bytes]
    before: MadeBefore
    digests: dict[tuple[str, int], str] = field(default_factory=dict)
    """Of each file's last attempt."""
    last: dict[tuple[str, int], tuple[Task, Part | None]] = field(default_factory=dict)
    """Of each file the last attempt, and what was recalled of it."""

    def attempt(self, tasks: Sequence[Task], text: str) -> dict[tuple[str, int], Part]:
        """Make or take over every file; what is known is recalled while the others are made."""
        from concurrent.futures import ThreadPoolExecutor

        self.digests.update((_key(task.part), digest_of(task, *self._with(task))) for task in tasks)
        is_known = {_key(task.part): self.before.knows(self.digests[_key(task.part)]) for task in tasks}
        known = [task for task in tasks if is_known[_key(task.part)]]
        new = [task for task in tasks if not is_known[_key(task.part)]]
        self._recall(new)
        with ThreadPoolExecutor(1) as aside:
            recalling = aside.submit(self._recall, known)
            made = self.made(self.part, sorted(new, key=_is_plain), text)
            recalling.result()
        return made | self.made(self.part, known, "reading unchanged files")

    def _recall(self, tasks: Iterable[Task]) -> None:
        """See what is known of the files, and begin to copy those that an earlier package holds."""
        for task in tasks:
            self.folder.remove(layout.part(task.spec.id, task.part.name))  # an attempt at another level
            found = recalled(task, self.digests[_key(task.part)], self.before)
            self.last[_key(task.part)] = (task, found)
            if found and found.shipped:
                self.folder.bring(found.shipped)

    def without_file(self) -> list[Task]:
        """Recalled files that no earlier package holds."""
        return [task for task, found in self.last.values() if found and not self.folder.holds(found.shipped)]

    def made(self, work: Callable[[Task], Part], tasks: list[Task], text: str) -> dict[tuple[str, int], Part]:
        """The parts of *tasks*, side by side."""
        name: Callable[[Task], str] = lambda task: f"track {task.part.track}, {task.spec.id}"  # noqa: E731
        parts = side_by_side(work, tasks, width_of(self.options), text, self.options.progress, name)
        return {_key(part): part for part in parts}

    def part(self, task: Task) -> Part:
        """Made or taken over; a recalled one without its file has the figures that decide whether it is made again."""
        _, found = self.last[_key(task.part)]
        if found is None:
            return self.new_part(task)
        return taken_over(task, found, self.folder, *self._with(task)) if self.folder.holds(found.shipped) else found

    def new_part(self, task: Task) -> Part:
        """Made here or on another machine, and remembered."""
        release, cover = self._with(task)
        engine = self.options.engine
        if engine is None:
            part = make(task, release, self.folder.path, cover, self.before)
        elif engine.is_local:
            part = engine.run(make, task, release, self.folder.path, cover, self.before)
        else:
            part = make_elsewhere(task, release, self.folder.path, cover, engine)
        if part.shipped:
            rendering = rendering_of(replace(task, part=part))
            self.before.remember(self.digests[_key(task.part)], part.shipped, gain_db(part), rendering=rendering)
        return part

    def _with(self, task: Task) -> tuple[Release, bytes | None]:
        return self.releases[task.spec.id], self.covers.get(task.spec.id)


def _is_plain(task: Task) -> bool:
    """False for a file to encode, which takes longest: it comes first."""
    return task.part.chain is not None and task.part.chain.target.coding == "pcm"


def _key(part: Part) -> tuple[str, int]:
    return part.spec, part.track


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
