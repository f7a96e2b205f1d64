"""The walk, top to bottom: masters in, judged, and either a table or a package out. It never turns back."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from delivery import __version__
from delivery.compare.names_said import names_said
from delivery.errors import Unfinished
from delivery.job import album as neighbours
from delivery.job import images, package
from delivery.job.at_joins import at_joins
from delivery.job.confirm import refuse_unconfirmed
from delivery.job.deliverable import (
    Task,
    album_as_shipped,
    at_gain,
    forecast,
    make,
    release_facts,
    settle,
    taken_away,
    trims_db,
    without_file,
    worth_a_trial,
)
from delivery.job.expected import Trials, trials
from delivery.job.intent import Intent
from delivery.job.names import altered
from delivery.job.rehearsal import rehearse
from delivery.job.sources import Progress, quiet, side_by_side, take_in
from delivery.job.stems import stem_sums
from delivery.job.streams import place
from delivery.judge import Scope, judge
from delivery.judge.codes import catalogue_remarks, said_anyway
from delivery.ledger.cache import MeasurementCache, file_sha256
from delivery.model.figure import Reading
from delivery.model.finding import Finding, Result, worst
from delivery.model.part import Delivery, Image, Part, Source
from delivery.model.release import Release
from delivery.model.release_for import received
from delivery.model.spec import Spec
from delivery.pack.names import folder_name
from delivery.pack.swap import whole_or_nothing
from delivery.report.view_words import numbers as track_numbers
from delivery.tags.values import with_version

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

FINE = (Result.READY, Result.REMARKS)
MOST_TRIMS = 4
"""A trim moves the peak by what it says, within dither; more attempts than this mean something else is wrong."""


@dataclass(frozen=True, slots=True)
class Options:
    workers: int = 2
    cache: MeasurementCache | None = None
    replace: bool = False
    zip: bool = False
    page: str = "A4"
    progress: Progress = quiet
    sign: Ed25519PrivateKey | None = None
    """Seals the package; None: no seal."""


@dataclass(frozen=True, slots=True)
class Built:
    delivery: Delivery
    package: Path | None
    """None when every part was refused."""
    archive: Path | None = None
    fingerprint: str = ""
    """Of the package's tag manifest, to be compared by telephone."""
    mail: Path | None = None
    """The text for a mail, beside the package, with the fingerprint."""


def check(intent: Intent, options: Options) -> Delivery:
    """Measure and judge; write nothing."""
    return _with_joins(_settled(_planned(intent, options), options))


def _planned(intent: Intent, options: Options) -> Delivery:
    """Measure the masters, try conversions where that is needed, plan and judge."""
    release = received(intent.release, [spec.id for spec in intent.specs])
    sources = take_in(release, options.cache, options.workers, options.progress)
    taken_in = _taken_in(intent, release, sources)
    own = [(taken_in.for_spec(spec.id), spec) for spec in intent.specs]
    wanted = [one for each, spec in own for one in trials(each.release, spec, each.sources, each.joins)]
    return _forecast(taken_in, rehearse(wanted, options.cache, options.workers, options.progress))


def build(intent: Intent, into: Path, options: Options) -> Built:
    """Write the package of *intent* into the folder *into*: whole or not at all.

    Raises
    ------
    NotConfirmed : the release holds values from file names that nobody has confirmed
    Occupied : the package is there already and ``options.replace`` is False
    Unfinished : the machine failed: disk full, no permission, a master that changed while it was used
    """
    refuse_unconfirmed(intent.release)
    target = into / folder_name(intent.release)
    package.refuse_occupied(target, replace=options.replace)
    planned = replace(_settled(_planned(intent, options), options, failed_only=True), built=True)
    tasks, joined = _tasks(planned), images.tasks(planned)
    if not tasks and not joined:
        return Built(_with_joins(planned), None)
    covers = package.pictures(planned)
    into.mkdir(parents=True, exist_ok=True)
    try:
        with whole_or_nothing(target, replace=options.replace) as folder:
            delivery = replace(planned, parts=_make_all(planned, tasks, folder, options, covers))
            delivery = _album_as_shipped(delivery, folder)
            delivery = _make_images(delivery, joined, folder, options)
            _sources_unchanged(delivery.sources)
            if not any(part.shipped or part.inside for part in delivery.parts):
                raise _NothingToShip(_with_joins(delivery))
            delivery = _with_joins(delivery)
            package.write(folder, delivery, options.page, covers)
            fingerprint = package.sealed(folder, options.sign)
    except _NothingToShip as nothing:
        return Built(nothing.delivery, None)
    stale = options.replace and package.stale_archive(target)
    archive = package.archive(target, intent.release) if options.zip or stale else None
    return Built(delivery, target, archive, fingerprint, package.mail_beside(target, fingerprint))


class _NothingToShip(Exception):
    """Leaves the hidden folder by the door that makes it vanish."""

    def __init__(self, delivery: Delivery) -> None:
        super().__init__(delivery)
        self.delivery = delivery


def _forecast(taken_in: Delivery, found: Trials) -> Delivery:
    """Plan and judge everything that can be known before a sample is written."""
    numbers = track_numbers(taken_in.release)
    parts: list[Part] = []
    laid_out: list[Image] = []
    findings: list[Finding] = []
    for spec in taken_in.specs:
        own = taken_in.for_spec(spec.id)
        planned = forecast(own.release, spec, own.sources, own.joins, found, numbers)
        carried = images.planned(own.release, spec, own.sources, planned)
        findings += _judge_release(own, spec, planned, images.facts(spec, own.sources, carried))
        parts += planned
        laid_out += carried
    whole = replace(taken_in, parts=tuple(parts), findings=tuple(findings), images=tuple(laid_out))
    return replace(whole, remarks=(*taken_in.remarks, *images.first_gaps(whole), *altered(whole)))


def _with_joins(judged: Delivery) -> Delivery:
    """The same, saying what becomes audible where songs continue into each other: of the gains that came out last."""
    return replace(judged, remarks=(*judged.remarks, *at_joins(judged)))


def _taken_in(intent: Intent, release: Release, sources: tuple[Source, ...]) -> Delivery:
    """What is known before anything is planned."""
    likenesses = neighbours.likenesses(sources)
    selections = neighbours.selections(intent.release, intent.specs, sources, likenesses)
    whole = next((each for each in selections if len(each.release.tracks) == len(release.tracks)), None)
    return Delivery(
        release=release,
        studio=intent.studio,
        specs=intent.specs,
        sources=sources,
        parts=(),
        artwork=intent.artwork,
        artwork_problem=intent.artwork_problem,
        remarks=(
            *_goes_nowhere(intent.release, release),
            *names_said(sources),
            *_odd_codes(release, intent.specs),
            *catalogue_remarks(release, intent.studio.catalogue_patterns.get(release.label, ())),
            *package.cover_remarks(intent.specs, intent.artwork, intent.artwork_problem),
        ),
        version=__version__,
        album=whole.album if whole else {},
        joins=neighbours.joins(sources),
        likenesses=likenesses,
        unnamed=neighbours.unnamed(intent.release),
        selections=selections,
    )


def _judge_release(
    own: Delivery, spec: Spec, parts: tuple[Part, ...], carried: dict[str, Reading]
) -> tuple[Finding, ...]:
    missing = own.artwork_problem or "the release file names no artwork"
    artwork = Reading(own.artwork) if own.artwork else Reading.missing(missing)
    together = {"joins": Reading(own.joins), "likenesses": Reading(own.likenesses)}
    if spec.limit("stem_residual_max_db") is not None:
        together["stem_sums"] = Reading(stem_sums(own.sources))
    facts = release_facts(own.release, spec, own.sources, parts, own.album, artwork) | together | carried
    return judge(spec, facts, scope=Scope.RELEASE, track=None, waivers=own.release.waivers)


def _odd_codes(release: Release, specs: tuple[Spec, ...]) -> tuple[str, ...]:
    return said_anyway(release, {asks for spec in specs for asks in spec.asked()})


def _goes_nowhere(release: Release, delivered: Release) -> Iterator[str]:
    """A sentence for each track that no spec of this delivery receives."""
    kept = {track.position for track in delivered.tracks}
    for track in release.tracks:
        if track.position not in kept:
            title = with_version(track.title, track.version)
            yield f"Track {track.position}, {title!r}, goes to none of the specs of this delivery."


def _settled(planned: Delivery, options: Options, *, failed_only: bool = False) -> Delivery:
    """The same, with the parts whose peaks are close to a limit judged by a trial of the whole file.

    Parameters
    ----------
    failed_only : leave out those that are expected to meet it, for they are about to be made and judged anyway
    """
    close = [task for task in _tasks(planned, worth_a_trial) if not (failed_only and task.part.result in FINE)]
    if not close:
        return planned
    releases = {spec.id: planned.for_spec(spec.id).release for spec in planned.specs}
    work: Callable[[Task], Part] = lambda task: settle(task, releases[task.spec.id], options.cache)  # noqa: E731
    parts = side_by_side(work, close, options.workers, "making files for a trial", options.progress)
    found = {(part.spec, part.track): part for part in parts}
    return replace(planned, parts=tuple(found.get((part.spec, part.track), part) for part in planned.parts))


def _fine(_spec: Spec, part: Part) -> bool:
    return part.result in FINE


def _tasks(planned: Delivery, worth: Callable[[Spec, Part], bool] = _fine) -> list[Task]:
    """The parts worth making: nothing about the release or the track stands against them already."""
    return [
        Task(spec, planned.for_spec(spec.id).source(part.track), part, place(planned.for_spec(spec.id), part))
        for spec in planned.specs
        if spec.carrier is None
        and worst(finding.result for finding in planned.findings if finding.spec == spec.id) in FINE
        for part in planned.of_spec(spec.id)
        if worth(spec, part)
    ]


def _make_all(
    planned: Delivery, tasks: list[Task], folder: Path, options: Options, covers: Mapping[str, bytes]
) -> tuple[Part, ...]:
    """Make every task; then again, quieter, those whose peaks grew where the spec permits gain down to the ceiling."""
    made: dict[tuple[str, int], Part] = {(part.spec, part.track): part for part in planned.parts}
    releases = {spec.id: planned.for_spec(spec.id).release for spec in planned.specs}
    todo = tasks
    for attempt in range(MOST_TRIMS):
        says = "making parts" if not attempt else "making parts again, trimmed to the ceiling"
        work: Callable[[Task], Part] = lambda task: make(  # noqa: E731
            task, releases[task.spec.id], folder, covers.get(task.spec.id)
        )
        parts = side_by_side(work, todo, options.workers, says, options.progress)
        made |= {(part.spec, part.track): part for part in parts}
        todo = _again(planned, tasks, made)
        if not todo:
            break
    return tuple(without_file(part, folder) for part in made.values())


def _album_as_shipped(delivery: Delivery, folder: Path) -> Delivery:
    """Answers about the album's loudness are those of the written files; where they fall short no file stays."""
    found = [
        finding
        for spec in delivery.specs
        if any(part.shipped for part in delivery.of_spec(spec.id))
        for finding in _album_loudness(delivery.for_spec(spec.id), spec)
    ]
    asked = {(finding.spec, finding.rule) for finding in found}
    others = [finding for finding in delivery.findings if (finding.spec, finding.rule) not in asked]
    short = {finding.spec for finding in found if finding.result not in (Result.READY, Result.REMARKS)}
    parts = tuple(taken_away(part, folder) if part.shipped and part.spec in short else part for part in delivery.parts)
    return replace(delivery, parts=parts, findings=(*others, *found))


def _album_loudness(own: Delivery, spec: Spec) -> tuple[Finding, ...]:
    return album_as_shipped(own.release, spec, own.sources, own.of_spec(spec.id))


def _make_images(planned: Delivery, tasks: list[images.ImageTask], folder: Path, options: Options) -> Delivery:
    """Join the discs and sides; every song then says which file holds it."""
    if not tasks:
        return planned
    work: Callable[[images.ImageTask], Image] = lambda task: images.make(task, planned.release, folder)  # noqa: E731
    made = side_by_side(work, tasks, options.workers, "joining discs and sides", options.progress)
    found = {(image.spec, image.programme.label): image for image in images.whole_carriers(made, folder)}
    joined = tuple(found.get((image.spec, image.programme.label), image) for image in planned.images)
    return replace(planned, images=joined, parts=images.inside(planned.parts, joined))


def _again(planned: Delivery, tasks: list[Task], made: dict[tuple[str, int], Part]) -> list[Task]:
    again = []
    for spec in planned.specs:
        parts = tuple(part for part in made.values() if part.spec == spec.id)
        gains = trims_db(spec, parts)
        again += [
            at_gain(task, gains[task.part.track]) for task in tasks if task.spec is spec and task.part.track in gains
        ]
    return again


def _sources_unchanged(sources: tuple[Source, ...]) -> None:
    """The masters are what they were when the walk began, byte for byte.

    Raises
    ------
    Unfinished : one of them is not; the package is not written
    """
    for source in sources:
        if source.sha256 and file_sha256(source.track.file) != source.sha256:
            name = source.track.file.name
            raise Unfinished(name, "other bytes than at the start", "a master that holds still", "Build again.")
