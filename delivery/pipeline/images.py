"""Discs and sides: planned before anything is written, then joined, verified by cutting them apart, measured and
judged."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from delivery.chain.carrier import programmes, segments
from delivery.chain.join import cut_again, join, unlike_neighbours
from delivery.chain.stream import Master
from delivery.errors import DeliveryError, Over, Unfinished, Unusable
from delivery.formats.carried import items_of
from delivery.meters import measure
from delivery.model.carrier import Programme
from delivery.model.chain import Chain, Target
from delivery.model.figure import Measurement, Reading
from delivery.model.finding import Finding, Result, worst
from delivery.model.part import Delivery, Image, Part, Shipped, Source, TagReport
from delivery.model.release import Release
from delivery.model.side import first_gap
from delivery.model.spec import Requirement, Spec
from delivery.pack import layout
from delivery.pack.checksums import checksums
from delivery.pack.names import MAX_BYTES, distinct, fields_of_part, file_name
from delivery.pack.swap import unfinished
from delivery.pipeline import metadata, part_digest
from delivery.pipeline.cutting_figures import complete, of_file
from delivery.pipeline.made_before import NOTHING, MadeBefore
from delivery.pipeline.package_folder import Lost, PackageFolder
from delivery.pipeline.sources import unexpected
from delivery.pipeline.unsettled import inexact_figures
from delivery.rules import Scope, judge, rules
from delivery.rules.feasible import obstacles, unlike_side

NOT_A_CARRIER = "the spec makes a file for each song, no disc or side"
AS_IT_SHIPS = ("container", "integrity", "level", "loudness")
"""Subjects whose rules need only audio, so they apply to a whole disc or side as to a song."""


@dataclass(frozen=True, slots=True)
class ImageTask:
    """Everything needed to make one image, in a worker process."""

    spec: Spec
    image: Image
    masters: Mapping[int, Master]
    sources: Mapping[int, Source]
    """By position, like the masters."""


def planned(release: Release, spec: Spec, sources: tuple[Source, ...], parts: tuple[Part, ...]) -> tuple[Image, ...]:
    """The discs or sides of *spec*; empty if it makes song files, or if a master could not be measured."""
    if spec.carrier is None or not all(source.measurement and part.chain for source, part in _pairs(sources, parts)):
        return ()
    chains = _chains(parts)
    frames = {source.track.position: _figure(source, "frames") for source in sources}
    laid_out = programmes(release, spec.id, spec.carrier, frames, chains)
    targets = [_target([chains[song.position] for song in programme.songs]) for programme in laid_out]
    names = _names(release, spec, laid_out, targets)
    return tuple(
        Image(programme, target, name) for programme, target, name in zip(laid_out, targets, names, strict=True)
    )


def fitting(parts: tuple[Part, ...], images: Sequence[Image]) -> tuple[Part, ...]:
    """*parts*, with a finding for each song that does not fit on its disc or side."""
    sides = {song.position: image.target for image in images for song in image.programme.songs}
    return tuple(
        replace(part, findings=(*part.findings, *unlike_side(part.spec, part.track, part.chain.target, side)))
        if part.chain and (side := sides.get(part.track))
        else part
        for part in parts
    )


def first_gaps(delivery: Delivery) -> Iterator[str]:
    """A sentence for each disc or side whose first song states a gap before it that is not made."""
    titles = {spec.id: spec.title for spec in delivery.specs}
    for image in delivery.images:
        if gap := first_gap(delivery.release, image.programme):
            yield f"{titles[image.programme.spec]}: {gap}"


def facts(spec: Spec, sources: tuple[Source, ...], images: tuple[Image, ...]) -> dict[str, Reading]:
    """Facts for the rules about discs and sides."""
    if spec.carrier is None:
        absent = Reading.missing(NOT_A_CARRIER)
        return {"programmes": absent, "unlike_neighbours": absent}
    if not images:
        lost = ", ".join(str(source.track.position) for source in sources if source.measurement is None)
        absent = Reading.missing(f"nothing can be laid out while track {lost} cannot be measured")
        return {"programmes": absent, "unlike_neighbours": absent}
    forms = {s.track.position: (_figure(s, "rate_hz"), _figure(s, "channels")) for s in sources}
    laid_out = tuple(image.programme for image in images)
    unlike = tuple(pair for programme in laid_out for pair in unlike_neighbours(programme, forms))
    return {"programmes": Reading(laid_out), "unlike_neighbours": Reading(unlike)}


def tasks(planned: Delivery) -> list[ImageTask]:
    """The images worth making: no finding refuses the release or any song of the spec."""
    fine = (Result.READY, Result.REMARKS)
    return [
        ImageTask(spec, image, _masters(planned.for_spec(spec.id), spec), _by_position(planned.for_spec(spec.id)))
        for spec in planned.specs
        if spec.carrier
        and worst(finding.result for finding in planned.findings if finding.spec == spec.id) in fine
        and all(part.result in fine for part in planned.of_spec(spec.id))
        for image in planned.images_of(spec.id)
    ]


def worth_a_trial(spec: Spec) -> bool:
    """True if a must needs a figure of the whole disc or side that cannot be derived from its songs."""
    return any(each.must and inexact_figures(each.rule) for each in _about_the_whole(spec))


def tried(task: ImageTask, release: Release, folder: PackageFolder) -> Image:
    """The planned image with the findings of a trial file: made in *folder*, measured, judged and deleted."""
    made = make(task, release, folder)
    if made.shipped:
        folder.remove(made.shipped.path)
    against = tuple(finding for finding in made.findings if finding.result not in (Result.READY, Result.REMARKS))
    return replace(task.image, findings=against, problem=made.problem)


def make(task: ImageTask, release: Release, folder: PackageFolder, before: MadeBefore = NOTHING) -> Image:
    """Join, cut apart again, measure and judge one disc or side inside the hidden *folder*; or take it over.

    Parameters
    ----------
    before : files that need not be made again
    """
    inside = layout.part(task.spec.id, task.image.name)
    file = layout.on_disk(folder.path, inside)
    try:
        return _taken_over(task, release, folder, before) or _made(task, release, inside, file, before)
    except (Unfinished, Lost):
        raise
    except Over as over:
        return replace(task.image, findings=_over(task, over))
    except DeliveryError as error:
        return replace(task.image, problem=str(error))
    except OSError as error:
        raise unfinished(error, folder.path) from error  # every other file would fail on this disk too
    except Exception as error:  # noqa: BLE001 - one bad side never stops the job
        return replace(task.image, problem=unexpected(file, error))


def whole_carriers(made: Sequence[Image], folder: PackageFolder) -> list[Image]:
    """All discs or sides of a carrier or none: if one is refused, the others' files are deleted too."""
    fine = (Result.READY, Result.REMARKS)
    halved = {image.spec for image in made if image.shipped is None or image.result not in fine}
    return [_without_file(image, folder) if image.spec in halved else image for image in made]


def _without_file(image: Image, folder: PackageFolder) -> Image:
    """Delete its file; the findings keep the figures."""
    if image.shipped is None:
        return image
    folder.remove(image.shipped.path)
    return replace(image, shipped=None)


def inside(parts: tuple[Part, ...], images: tuple[Image, ...]) -> tuple[Part, ...]:
    """*parts*, each naming the written image that holds it."""
    holds = {
        (image.spec, song.position): image.shipped.path
        for image in images
        if image.shipped
        for song in image.programme.songs
    }
    return tuple(replace(part, inside=holds.get((part.spec, part.track), "")) for part in parts)


def _over(task: ImageTask, over: Over) -> tuple[Finding, ...]:
    """A sample over full scale, met only while writing: a finding of the song it is in."""
    rate_hz, programme = task.image.programme.rate_hz, task.image.programme
    chains = {position: master.chain for position, master in task.masters.items()}
    for segment in segments(programme, chains):
        if task.masters[segment.songs[0].position].file.name == over.place:
            at = segment.begins + round(over.at_s * rate_hz)
            song = next((song for song in segment.songs if at < song.ends), segment.songs[-1])
            at_s = (at - song.begins) / rate_hz
            peak = {"sample_peak_dbfs": Reading(over.peak_dbfs), "sample_peak_at_s": Reading(at_s)}
            found = obstacles(task.spec.id, song.position, Measurement(peak), chains[song.position])
            return tuple(replace(finding, place=programme.name) for finding in found)
    raise ValueError(f"no song of {programme.name} is {over.place}")


def _taken_over(task: ImageTask, release: Release, folder: PackageFolder, before: MadeBefore) -> Image | None:
    """The disc or side as an earlier build made it, while its file is copied; None: it has to be made."""
    known = before.known(_digest_of(task), layout.part(task.spec.id, task.image.name))
    if known is None or not complete(known.shipped.measurement, task.spec):
        return None
    if not folder.bring(known.shipped):
        return None
    try:
        shipped = replace(known.shipped, carried=items_of(folder.source_of(known.shipped)))
    except Unfinished as fault:
        raise Lost(known.shipped.sha256) from fault
    findings = _judge(release, task.spec, task.image, shipped)
    return replace(task.image, findings=findings, shipped=shipped, song_hashes=known.song_hashes)


def _digest_of(task: ImageTask) -> str:
    programme, chains = task.image.programme, {at: master.chain for at, master in task.masters.items()}
    songs = [task.sources[song.position] for song in programme.songs]
    return part_digest.of_image(programme, task.image.target, songs, chains, task.spec.keep_chunks)


def _made(task: ImageTask, release: Release, inside: str, file: Path, before: MadeBefore) -> Image:
    image = task.image
    file.parent.mkdir(parents=True, exist_ok=True)
    join(image.programme, task.masters, image.target, file)
    hashes = cut_again(file, image.programme)
    _check_unchanged_songs(image, task.masters, hashes)
    metadata.join_points(task.spec, image.programme, task.masters, file)
    measurement = of_file(file, measure(file), task.spec)
    sums = checksums(file)
    carried = items_of(file)
    shipped = Shipped(inside, sums.size_bytes, sums.sha256, sums.md5, measurement, TagReport({}), carried, sums.blake3)
    before.remember(_digest_of(task), shipped, 0.0, hashes)
    return replace(image, findings=_judge(release, task.spec, image, shipped), shipped=shipped, song_hashes=hashes)


def _check_unchanged_songs(image: Image, masters: Mapping[int, Master], hashes: tuple[str, ...]) -> None:
    """Check that songs whose chain changes no sample equal their masters when cut out of the image.

    Raises
    ------
    Unusable : one does not
    """
    for song, found in zip(image.programme.songs, hashes, strict=True):
        master = masters[song.position]
        if master.chain.same_samples and master.audio_hash != found:
            where = f"{image.name}, track {song.position}"
            raise Unusable(where, "samples that differ from the master's", "identical samples", "Please report it.")


def _judge(release: Release, spec: Spec, image: Image, shipped: Shipped) -> tuple[Finding, ...]:
    """Judge the audio requirements again on the whole file."""
    known = rules()
    required_here = tuple(
        requirement
        for requirement in _about_the_whole(spec)
        if all(need in shipped.measurement for need in known[requirement.rule].needs)
    )
    found = judge(
        replace(spec, requirements=required_here),
        shipped.measurement,
        scope=Scope.TRACK,
        track=None,
        waivers=release.waivers,
    )
    return tuple(replace(finding, place=image.programme.name) for finding in found)


def _about_the_whole(spec: Spec) -> tuple[Requirement, ...]:
    """Requirements that apply to each song's audio and also to the whole disc or side."""
    required = [(requirement, rules()[requirement.rule]) for requirement in spec.requirements]
    return tuple(
        requirement for requirement, rule in required if rule.subject in AS_IT_SHIPS and rule.scope is Scope.TRACK
    )


def _target(chains: list[Chain]) -> Target:
    """One target for a whole disc or side: the largest bit depth any song needs."""
    first = chains[0].target
    return Target("wav", "pcm", first.rate_hz, first.channels, max(chain.target.bits or 0 for chain in chains))


def _masters(planned: Delivery, spec: Spec) -> dict[int, Master]:
    chains = _chains(planned.of_spec(spec.id))
    return {
        source.track.position: Master(
            source.track.file,
            chains[source.track.position],
            _figure(source, "frames"),
            source.measurement.value("audio_hash"),
        )
        for source in planned.sources
        if source.measurement
    }


def _by_position(planned: Delivery) -> dict[int, Source]:
    return {source.track.position: source for source in planned.sources}


def _names(release: Release, spec: Spec, laid_out: tuple[Programme, ...], targets: list[Target]) -> tuple[str, ...]:
    most_bytes = spec.limit("name_max_bytes") or MAX_BYTES
    wanted = [
        file_name(
            spec.name_template,
            fields_of_part(release, programme, target, spec.id),
            ".wav",
            max_bytes=most_bytes,
            ascii_only=bool(spec.limit("name_ascii")),
        )
        for programme, target in zip(laid_out, targets, strict=True)
    ]
    return distinct(wanted, max_bytes=most_bytes)


def _pairs(sources: tuple[Source, ...], parts: tuple[Part, ...]) -> zip[tuple[Source, Part]]:
    return zip(sources, parts, strict=True)


def _chains(parts: tuple[Part, ...]) -> dict[int, Chain]:
    return {part.track: part.chain for part in parts if part.chain}


def _figure(source: Source, name: str) -> int:
    assert source.measurement
    return int(source.measurement.value(name))


def as_papers_see(parts: tuple[Part, ...], images: tuple[Image, ...]) -> tuple[Part, ...]:
    """Songs of discs and sides with the file that holds them and their own length; other parts unchanged."""
    seen = {
        song.position: replace(
            image.shipped,
            measurement=Measurement({"duration_s": Reading(song.length / image.programme.rate_hz)}),
        )
        for image in images
        if image.shipped
        for song in image.programme.songs
    }
    return tuple(replace(part, shipped=seen.get(part.track, part.shipped)) for part in parts)
