"""Check and build, step by step: masters in, a table or a package out. No step goes back to an earlier one."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from delivery import __version__
from delivery.compare.name_claims import wrong_claims
from delivery.errors import Unfinished
from delivery.ledger.cache import file_sha256
from delivery.model.figure import Reading
from delivery.model.finding import Finding
from delivery.model.part import Delivery, Image, Part, Source
from delivery.model.release import Release
from delivery.model.release_for import received
from delivery.model.spec import Spec
from delivery.pack import layout
from delivery.pack.names import folder_name
from delivery.pack.swap import whole_or_nothing
from delivery.pipeline import album as neighbours
from delivery.pipeline import images, package
from delivery.pipeline.confirm import refuse_unconfirmed
from delivery.pipeline.join_remarks import at_joins
from delivery.pipeline.judge_part import release_facts
from delivery.pipeline.names import altered
from delivery.pipeline.options import Options
from delivery.pipeline.predict_parts import predict_parts
from delivery.pipeline.predicted import Trials, trials
from delivery.pipeline.request import Request
from delivery.pipeline.songs import album_judged, make_all, tasks_of
from delivery.pipeline.sources import side_by_side, take_in
from delivery.pipeline.stems import stem_sums
from delivery.pipeline.trial_conversion import try_conversions
from delivery.pipeline.trial_files import images_tried, settled
from delivery.report.view.words import numbers as track_numbers
from delivery.rules import Scope, judge
from delivery.rules.codes import catalogue_remarks, unrequired_remarks
from delivery.tags.values import with_version

__all__ = ["Built", "Options", "build", "check"]

DEFAULT = Options()


@dataclass(frozen=True, slots=True)
class Built:
    delivery: Delivery
    package: Path | None
    """None if every part was refused."""
    archive: Path | None = None
    fingerprint: str = ""
    """Fingerprint of the package's tag manifest, to compare by telephone."""
    mail: Path | None = None
    """The mail text beside the package, with the fingerprint."""

    @property
    def papers(self) -> dict[str, Path]:
        """Files to open first, by kind: the sheet, the browser page, the mail. Empty without a package."""
        if self.package is None:
            return {}
        return {
            "sheet": self.package / layout.SHEET_PDF,
            "page": self.package / layout.SHEET_HTML,
            "mail": self.mail or self.package / layout.MAIL_TEXT,
        }


def check(request: Request, options: Options = DEFAULT) -> Delivery:
    """Measure and judge; write nothing."""
    return _with_joins(images_tried(settled(_planned(request, options), options), options))


def _planned(request: Request, options: Options) -> Delivery:
    """Measure the masters, make trial conversions where needed, plan and judge."""
    release = received(request.release, [spec.id for spec in request.specs])
    sources = take_in(release, options.cache, options.workers, options.progress)
    taken_in = _findings_before_planning(request, release, sources)
    own = [(taken_in.for_spec(spec.id), spec) for spec in request.specs]
    wanted = [one for each, spec in own for one in trials(each.release, spec, each.sources, each.joins)]
    return _predict(taken_in, try_conversions(wanted, options.cache, options.workers, options.progress))


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
    target = into / folder_name(request.release)
    package.refuse_occupied(target, replace=options.replace)
    planned = replace(settled(_planned(request, options), options, failed_only=True), built=True)
    tasks, joined = tasks_of(planned), images.tasks(planned)
    if not tasks and not joined:
        return Built(_with_joins(planned), None)
    covers = package.pictures(planned)
    into.mkdir(parents=True, exist_ok=True)
    try:
        with whole_or_nothing(target, replace=options.replace) as folder:
            delivery = replace(planned, parts=make_all(planned, tasks, folder, options, covers))
            delivery = album_judged(delivery, folder)
            delivery = _make_images(delivery, joined, folder, options)
            _sources_unchanged(delivery.sources)
            if not any(part.shipped or part.inside for part in delivery.parts):
                raise _NothingToShip(_with_joins(delivery))
            delivery = _with_joins(delivery)
            package.write(folder, delivery, options.page, covers, options.sheet)
            fingerprint = package.sealed(folder, options.sign)
    except _NothingToShip as nothing:
        return Built(nothing.delivery, None)
    stale = options.replace and package.stale_archive(target)
    archive = package.archive(target, request.release) if options.zip or stale else None
    return Built(delivery, target, archive, fingerprint, package.mail_beside(target, fingerprint))


class _NothingToShip(Exception):
    """Raised inside the hidden folder so that it is deleted: every part was refused."""

    def __init__(self, delivery: Delivery) -> None:
        super().__init__(delivery)
        self.delivery = delivery


def _predict(taken_in: Delivery, found: Trials) -> Delivery:
    """Plan and judge everything that can be known before a sample is written."""
    numbers = track_numbers(taken_in.release)
    parts: list[Part] = []
    laid_out: list[Image] = []
    findings: list[Finding] = []
    for spec in taken_in.specs:
        own = taken_in.for_spec(spec.id)
        planned = predict_parts(own.release, spec, own.sources, own.joins, found, numbers)
        carried = images.planned(own.release, spec, own.sources, planned)
        findings += _judge_release(own, spec, planned, images.facts(spec, own.sources, carried))
        parts += images.fitting(planned, carried)
        laid_out += carried
    whole = replace(taken_in, parts=tuple(parts), findings=tuple(findings), images=tuple(laid_out))
    return replace(whole, remarks=(*taken_in.remarks, *images.first_gaps(whole), *altered(whole)))


def _with_joins(judged: Delivery) -> Delivery:
    """Add remarks on joins, from the final gains."""
    return replace(judged, remarks=(*judged.remarks, *at_joins(judged)))


def _findings_before_planning(request: Request, release: Release, sources: tuple[Source, ...]) -> Delivery:
    """Findings known before anything is planned."""
    likenesses = neighbours.likenesses(sources)
    selections = neighbours.selections(request.release, request.specs, sources, likenesses)
    whole = next((each for each in selections if len(each.release.tracks) == len(release.tracks)), None)
    return Delivery(
        release=release,
        studio=request.studio,
        specs=request.specs,
        sources=sources,
        parts=(),
        artwork=request.artwork,
        artwork_problem=request.artwork_problem,
        remarks=(
            *_undelivered_tracks(request.release, release),
            *wrong_claims(sources),
            *_odd_codes(release, request.specs),
            *catalogue_remarks(release, request.studio.catalogue_patterns.get(release.label, ())),
            *package.cover_remarks(request.specs, request.artwork, request.artwork_problem),
        ),
        version=__version__,
        album=whole.album if whole else {},
        joins=neighbours.joins(sources),
        likenesses=likenesses,
        unnamed=neighbours.unnamed(request.release),
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
    return unrequired_remarks(release, {key for spec in specs for key in spec.required()})


def _undelivered_tracks(release: Release, delivered: Release) -> Iterator[str]:
    """A sentence for each track that no spec of this delivery receives."""
    kept = {track.position for track in delivered.tracks}
    for track in release.tracks:
        if track.position not in kept:
            title = with_version(track.title, track.version)
            yield f"Track {track.position}, {title!r}, goes to none of the specs of this delivery."


def _make_images(planned: Delivery, tasks: list[images.ImageTask], folder: Path, options: Options) -> Delivery:
    """Join the discs and sides; each song then names the file that holds it."""
    if not tasks:
        return planned
    work: Callable[[images.ImageTask], Image] = lambda task: images.make(task, planned.release, folder)  # noqa: E731
    made = side_by_side(work, tasks, options.workers, "joining discs and sides", options.progress)
    found = {(image.spec, image.programme.label): image for image in images.whole_carriers(made, folder)}
    joined = tuple(found.get((image.spec, image.programme.label), image) for image in planned.images)
    return replace(planned, images=joined, parts=images.inside(planned.parts, joined))


def _sources_unchanged(sources: tuple[Source, ...]) -> None:
    """Check that the masters are still the same bytes as when the job began.

    Raises
    ------
    Unfinished : one has changed; the package is not written
    """
    for source in sources:
        if source.sha256 and file_sha256(source.track.file) != source.sha256:
            name = source.track.file.name
            raise Unfinished(name, "other bytes than at the start", "an unchanged master", "Build again.")
