"""From measured masters to a table or a package: judge, plan, make. No step goes back to an earlier one.

It needs most of the program, and is loaded while the masters are measured.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

from delivery import __version__
from delivery.absolute import absolute
from delivery.compare.name_claims import wrong_claims
from delivery.model.figure import Reading
from delivery.model.finding import Finding
from delivery.model.part import Delivery, Image, Part, Source
from delivery.model.reasons import NO_ARTWORK
from delivery.model.release import Release
from delivery.model.spec import Spec
from delivery.pack import layout
from delivery.pack.names import folder_name
from delivery.pack.seal import fingerprint
from delivery.pipeline import album as neighbours
from delivery.pipeline import cutting_figures, images, package
from delivery.pipeline.built import Built
from delivery.pipeline.deliveries import heard_in
from delivery.pipeline.earlier import Earlier, against, compared, is_whole
from delivery.pipeline.elsewhere import try_elsewhere
from delivery.pipeline.join_remarks import with_joins
from delivery.pipeline.judge_part import release_facts
from delivery.pipeline.likenesses import likenesses
from delivery.pipeline.made_before import MadeBefore, files_of
from delivery.pipeline.names import altered
from delivery.pipeline.needed_space import needing, package_bytes
from delivery.pipeline.occupied import refuse_occupied
from delivery.pipeline.options import Options, width_of
from delivery.pipeline.packing import NothingToShip, Planned, pack
from delivery.pipeline.predict_parts import predict_parts
from delivery.pipeline.predicted import Trials, trials
from delivery.pipeline.request import Request
from delivery.pipeline.songs import tasks_of
from delivery.pipeline.stems import stem_sums
from delivery.pipeline.trial_conversion import Peaks, Wanted, peaks_of, try_conversions
from delivery.pipeline.trial_files import images_tried, settled
from delivery.pipeline.versions import version_remarks
from delivery.report.unprintable import unprintable_remarks
from delivery.report.view.words import clock
from delivery.report.view.words import numbers as track_numbers
from delivery.rules import Scope, judge
from delivery.rules.codes import catalogue_remarks, unrequired_remarks
from delivery.tags.values import with_version

DEFAULT = Options()


def checked(request: Request, release: Release, sources: tuple[Source, ...], options: Options) -> Delivery:
    """Judge *release*, as all specs together receive it, by its measured masters; write nothing."""
    taken_in = _findings_before_planning(request, release, sources, options)
    taken_in = replace(taken_in, changes=compared(taken_in, options.earlier, below=False))
    return _checked(taken_in, options)


def built(
    request: Request,
    release: Release,
    sources: tuple[Source, ...],
    known: Sequence[Earlier],
    into: Path,
    options: Options,
) -> Built:
    """Build the package of *request* in the folder *into*, atomically.

    Parameters
    ----------
    release : as all specs together receive it
    known : its earlier deliveries

    Raises
    ------
    Occupied, Unfinished : as `delivery.pipeline.run.build`
    """
    taken_in = _findings_before_planning(request, release, sources, options)
    if same := _unchanged(taken_in, known, into, options):
        return same
    target = into / folder_name(request.release)
    refuse_occupied(target, request.release, heard_in(taken_in), replace=options.replace)
    taken_in = replace(taken_in, changes=compared(taken_in, known, below=True))
    planned = replace(settled(_planned(taken_in, options), options, failed_only=True), built=True)
    tasks, joined = tasks_of(planned), images.tasks(planned)
    if not tasks and not joined:
        return Built(with_joins(planned), None)
    covers = package.pictures(planned)
    before = MadeBefore(options.cache, files_of(known))
    into.mkdir(parents=True, exist_ok=True)
    needed = package_bytes(planned, tasks, joined, covers)
    try:
        with needing(needed, into):
            delivery, printed = pack(Planned(planned, tasks, joined, covers), target, options, before)
    except NothingToShip as nothing:
        return Built(nothing.delivery, None)
    stale = options.replace and package.stale_archive(target)
    archive = package.archive(target, request.release) if options.zip or stale else None
    return Built(delivery, target, archive, printed, package.mail_beside(target, printed))


def _checked(taken_in: Delivery, options: Options) -> Delivery:
    return with_joins(images_tried(settled(_planned(taken_in, options), options), options))


def _unchanged(taken_in: Delivery, known: Sequence[Earlier], into: Path, options: Options) -> Built | None:
    """The earlier package in the folder *into*, if a build would make the same again; None: there is work to do.

    An option about what to write always builds.
    """
    ordered = options.again or options.replace or options.zip or options.sign or options.beside
    if ordered or (options.page, options.sheet) != (DEFAULT.page, DEFAULT.sheet) or not known:
        return None

    def is_there(each: Earlier) -> bool:
        return each.package is not None and absolute(each.package.parent) == absolute(into)

    last = max(known, key=lambda each: (each.revision, is_there(each)))  # another folder may hold that revision too
    there = last.package and is_there(last) and is_whole(last.package)
    found = against(taken_in, last) if there else None
    if not last.package or found is None or not found.nothing:
        return None
    manifest = layout.on_disk(last.package, layout.tag_manifest("sha256")).read_bytes()
    mail = last.package.with_name(layout.mail_name(last.package.name))
    delivery = _checked(replace(taken_in, changes=found), options)
    return Built(delivery, last.package, None, fingerprint(manifest), mail if mail.is_file() else None, unchanged=True)


def _planned(taken_in: Delivery, options: Options) -> Delivery:
    """Make trial conversions where needed, plan and judge."""
    own = [(taken_in.for_spec(spec.id), spec) for spec in taken_in.specs]
    engine = options.engine
    peaks: Callable[[Wanted], Peaks] = peaks_of
    if engine:
        peaks = partial(engine.run, peaks_of) if engine.is_local else partial(try_elsewhere, engine=engine)
    wanted = [one for each, spec in own for one in trials(each.release, spec, each.sources, each.joins)]
    return _predict(taken_in, try_conversions(wanted, options.cache, width_of(options), options.progress, peaks))


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


def _findings_before_planning(
    request: Request, release: Release, sources: tuple[Source, ...], options: Options
) -> Delivery:
    """Findings known before anything is planned."""
    sources = cutting_figures.of_sources(sources, request.specs, options.cache, options.workers, options.progress)
    artwork, problem = request.cover()
    alike = likenesses(sources, options.cache)
    selections = neighbours.selections(request.release, request.specs, sources, alike)
    whole = next((each for each in selections if len(each.release.tracks) == len(release.tracks)), None)
    return Delivery(
        release=release,
        studio=request.studio,
        specs=request.specs,
        sources=sources,
        parts=(),
        artwork=artwork,
        artwork_problem=problem,
        remarks=(
            *_undelivered_tracks(request.release, release),
            *_previews_beyond_end(sources),
            *wrong_claims(sources),
            *version_remarks(sources, options.cache),
            *_odd_codes(release, request.specs),
            *unprintable_remarks(release),
            *catalogue_remarks(release, request.studio.catalogue_patterns.get(release.label, ())),
            *package.cover_remarks(request.specs, artwork, problem),
        ),
        version=__version__,
        album=whole.album if whole else {},
        joins=neighbours.joins(sources),
        likenesses=alike,
        unnamed=neighbours.unnamed(request.release),
        selections=selections,
    )


def _judge_release(
    own: Delivery, spec: Spec, parts: tuple[Part, ...], carried: dict[str, Reading]
) -> tuple[Finding, ...]:
    missing = own.artwork_problem or NO_ARTWORK
    artwork = Reading(own.artwork) if own.artwork else Reading.missing(missing)
    together = {"joins": Reading(own.joins), "likenesses": Reading(own.likenesses)}
    if spec.limit("stem_residual_max_db") is not None:
        together["stem_sums"] = Reading(stem_sums(own.sources))
    facts = release_facts(own.release, spec, own.sources, parts, own.album, artwork) | together | carried
    return judge(spec, facts, scope=Scope.RELEASE, track=None, waivers=own.release.waivers)


def _odd_codes(release: Release, specs: tuple[Spec, ...]) -> tuple[str, ...]:
    return unrequired_remarks(release, {key for spec in specs for key in spec.required()})


def _previews_beyond_end(sources: Sequence[Source]) -> Iterator[str]:
    """A sentence for each preview that begins after its track has ended: the recipient would get it so."""
    for source in sources:
        start_s, measured = source.track.preview_start_s, source.measurement
        length_s = measured.value("duration_s") if measured else None
        if start_s is not None and length_s is not None and start_s >= length_s:
            begins, ends = clock(start_s, 0), clock(length_s, 0)
            yield f"Track {source.track.position}: the preview begins at {begins}, after the end at {ends}."


def _undelivered_tracks(release: Release, delivered: Release) -> Iterator[str]:
    """A sentence for each track that no spec of this delivery receives."""
    kept = {track.position for track in delivered.tracks}
    for track in release.tracks:
        if track.position not in kept:
            title = with_version(track.title, track.version)
            yield f"Track {track.position}, {title!r}, is for none of the specs of this delivery."
