"""Make one part: render, tag, read back and judge it; make it again at a lower level where that is needed."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

from delivery.chain.gain import GAIN_SLACK_DB, headroom_db
from delivery.chain.joined import cut_alike
from delivery.chain.plan import plan
from delivery.chain.render import render
from delivery.chain.stream import Place
from delivery.errors import DeliveryError, Over, Unfinished, Unusable
from delivery.formats import containers
from delivery.formats.carried import items_of
from delivery.ledger.cache import MeasurementCache
from delivery.model.carried import Passage
from delivery.model.chain import Chain
from delivery.model.figure import Measurement, Reading
from delivery.model.finding import Result, worst
from delivery.model.part import Part, Shipped, Source
from delivery.model.release import Release
from delivery.model.spec import Spec
from delivery.pack import layout
from delivery.pack.checksums import checksums
from delivery.pack.swap import unfinished
from delivery.pipeline import metadata, part_digest
from delivery.pipeline.cutting_figures import complete
from delivery.pipeline.judge_part import KINDS_KEPT, TAGS_READ, gain_db, judge_file, predicted_figures, tags_read
from delivery.pipeline.made_before import NOTHING, MadeBefore
from delivery.pipeline.package_folder import Lost, PackageFolder
from delivery.pipeline.read_back import check_after_tagging, check_name, mark_of_sound, measured
from delivery.pipeline.sources import unexpected
from delivery.pipeline.trial_conversion import finished
from delivery.pipeline.unsettled import needed_figures
from delivery.rules.feasible import obstacles


@dataclass(frozen=True, slots=True)
class Task:
    """A part to make, with the gain found by an earlier attempt."""

    spec: Spec
    source: Source
    part: Part
    place: Place | None = None
    """Its place in a stream of songs joined without a gap; None: the song is made separately."""


def make(task: Task, release: Release, folder: Path, picture: bytes | None, before: MadeBefore = NOTHING) -> Part:
    """Render, tag, read back, measure and judge one part inside the hidden *folder*.

    If conversion would exceed full scale and the spec permits gain down to the ceiling, the level is reduced
    accordingly.

    Parameters
    ----------
    before : figures of files made before: they hold for the same samples with other tags
    """
    try:
        shipped, chain, passage = _write(task, release, folder, picture, before)
    except Unfinished:
        raise
    except Over as over:
        if task.spec.conversions.gain != "down_to_ceiling":
            return _over(task, over)
        lower = at_gain(task, gain_db(task.part) - over.over_db - GAIN_SLACK_DB)
        return make(lower, release, folder, picture, before)
    except DeliveryError as error:
        return replace(task.part, problem=str(error))
    except OSError as error:
        raise unfinished(error, folder) from error  # a failure here would stop every part
    except Exception as error:  # noqa: BLE001 - one bad track never stops the job
        return replace(task.part, problem=unexpected(task.source.track.file, error))
    return _judged(task, release, shipped, chain, passage)


def recalled(task: Task, digest: str, before: MadeBefore) -> Part | None:
    """The part as made by an earlier build, without its file; None if it must be made again.

    Parameters
    ----------
    digest : of the task, from `digest_of`
    """
    known = before.known(digest, layout.part(task.spec.id, task.part.name))
    if known is None or not complete(known.shipped.measurement, task.spec):
        return None
    final = at_gain(task, known.gain_db) if known.gain_db != gain_db(task.part) else task
    return replace(final.part, findings=(), shipped=known.shipped)


def taken_over(task: Task, found: Part, folder: PackageFolder, release: Release, picture: bytes | None) -> Part:
    """The recalled part with its tags read again, and judged, while its file is copied.

    The tags are read from the earlier file: the copy is proven to have the same bytes.

    Raises
    ------
    Lost : the earlier file is damaged
    """
    shipped, chain = found.shipped, found.chain
    assert shipped
    assert chain
    file, cover = folder.source_of(shipped), picture if task.spec.embed_artwork else None
    try:
        tags, passage = metadata.read_again(release, task.spec, task.source, chain, file, cover, shipped.measurement)
        shipped = replace(shipped, tags=tags, carried=items_of(file))
    except (DeliveryError, OSError) as fault:
        raise Lost(shipped.sha256) from fault
    return _judged(task, release, shipped, chain, passage)


def digest_of(task: Task, release: Release, picture: bytes | None) -> str:
    """Digest of everything that decides the bytes of the task's file."""
    assert task.part.chain
    return part_digest.of_part(task.spec, task.source, task.part.chain, task.place, release, picture, task.part.name)


def rendering_of(task: Task) -> str:
    """Digest of everything that decides the samples of the task's file; empty: the master's own."""
    chain = task.part.chain
    assert chain
    return "" if chain.identical else part_digest.of_rendering(task.source, chain, task.place, task.part.name)


def _judged(task: Task, release: Release, shipped: Shipped, chain: Chain, passage: Passage) -> Part:
    kept = metadata.kinds_kept(release, task.spec, task.source, chain)
    facts = shipped.measurement.with_readings({TAGS_READ: tags_read(chain, shipped.carried), KINDS_KEPT: Reading(kept)})
    findings = judge_file(release, task.spec, task.source, facts, task.part.name)
    return replace(task.part, chain=chain, findings=findings, shipped=shipped, passage=passage)


def _over(task: Task, over: Over) -> Part:
    """A sample over full scale, met only while writing: a finding, like a predicted one."""
    assert task.part.chain
    peak = {"sample_peak_dbfs": Reading(over.peak_dbfs), "sample_peak_at_s": Reading(over.at_s)}
    met = predicted_figures(task.source, task.part.chain).with_readings(peak)
    found = obstacles(task.spec.id, task.part.track, met, task.part.chain)
    return replace(task.part, findings=(*task.part.findings, *found))


def worth_a_trial(part: Part) -> bool:
    """True if only the finished file can answer, and no other finding refuses the part."""
    others = (finding.result for finding in part.findings if finding.rule not in part.unsettled)
    return bool(part.unsettled) and not part.problem and worst(others) in (Result.READY, Result.REMARKS)


def settle(task: Task, release: Release, cache: MeasurementCache | None) -> Part:
    """Make a trial file and answer the part's unsettled requirements from it."""
    part, spec = task.part, task.spec
    assert part.chain
    try:
        found = finished(task.source, part.chain, needed_figures(part.unsettled), cache, task.place)
    except Over as over:
        return _over(task, over)
    except DeliveryError:
        return part  # the build meets the same error and reports it
    required = tuple(requirement for requirement in spec.requirements if requirement.rule in part.unsettled)
    settled = judge_file(release, replace(spec, requirements=required), task.source, found, part.name)
    others = tuple(finding for finding in part.findings if finding.rule not in part.unsettled)
    return replace(part, findings=(*settled, *others), unsettled=())


def without_file(part: Part, folder: PackageFolder) -> Part:
    """Delete a refused part's file; the findings keep the figures."""
    if part.shipped is None or part.result in (Result.READY, Result.REMARKS):
        return part
    return taken_away(part, folder)


def taken_away(part: Part, folder: PackageFolder) -> Part:
    """*part* with its written file deleted."""
    assert part.shipped
    folder.remove(part.shipped.path)
    return replace(part, shipped=None)


def trims_db(spec: Spec, parts: tuple[Part, ...]) -> dict[int, float]:
    """Gain by track position for parts that must be made again at a lower level.

    Conversion raises peaks; if the spec permits gain down to the ceiling, the measured result gives the amount. With
    album scope the largest reduction applies to all tracks.
    """
    if spec.conversions.gain != "down_to_ceiling":
        return {}
    made = {part.track: part for part in parts if part.shipped}
    wanted = {
        track: gain_db(part) + min(0.0, headroom_db(spec, part.shipped.measurement))
        for track, part in made.items()
        if part.shipped
    }
    if spec.conversions.gain_scope == "album":
        wanted = dict.fromkeys(wanted, min(wanted.values(), default=0.0))
    return {track: gain for track, gain in wanted.items() if gain < gain_db(made[track])}


def at_gain(task: Task, gain: float) -> Task:
    """Plan the same part again with a gain of *db*."""
    assert task.source.measurement
    chain = plan(task.spec, task.source.measurement, containers(), gain_db=gain)
    if task.part.chain:
        chain = cut_alike(chain, task.part.chain)
    return replace(task, part=replace(task.part, chain=chain))


def _write(
    task: Task, release: Release, folder: Path, picture: bytes | None, before: MadeBefore
) -> tuple[Shipped, Chain, Passage]:
    chain, source = task.part.chain, task.source
    assert chain
    assert source.measurement
    file = layout.on_disk(folder, layout.part(task.spec.id, task.part.name))
    file.parent.mkdir(parents=True, exist_ok=True)
    file.unlink(missing_ok=True)  # an earlier attempt at a higher level, in our own hidden folder
    if measurement := _with_other_tags(task, file, before):
        with suppress(Unusable):  # the earlier file has other samples than it had: it is damaged
            return _tagged(task, release, file, picture, measurement)
        file.unlink()
    rendered = render(source.track.file, chain, file, source.measurement.value("audio_hash"), task.place)
    before.remember_bare(rendering_of(task), file)
    return _tagged(task, release, file, picture, *_figures(task, file, rendered, before))


def _tagged(
    task: Task, release: Release, file: Path, picture: bytes | None, measurement: Measurement, mark: str = ""
) -> tuple[Shipped, Chain, Passage]:
    """Write the tags of a *file* that has none, and read it again.

    Parameters
    ----------
    mark : of the sound that was measured; empty: *measurement* is of another file with the same samples
    """
    chain, spec = task.part.chain, task.spec
    assert chain
    cover = picture if spec.embed_artwork else None
    tags, passage = metadata.write(release, spec, task.source, chain, file, cover, measurement)
    final = check_after_tagging(file, measurement, mark)
    check_name(spec, file, final)
    sums = checksums(file)
    carried = items_of(file)
    inside = layout.part(spec.id, task.part.name)
    shipped = Shipped(inside, sums.size_bytes, sums.sha256, sums.md5, final, tags, carried, sums.blake3)
    return shipped, chain, passage


def _with_other_tags(task: Task, file: Path, before: MadeBefore) -> Measurement | None:
    """Make *file* from one made before that differs in its tags alone, and return its figures; None: there is none.

    That the samples are the same is proven after tagging, when the file is read again.
    """
    rendering = rendering_of(task)
    known = before.figures_of(rendering) if rendering else None
    return known if known and complete(known, task.spec) and before.fetch_bare(rendering, file) else None


def _figures(task: Task, file: Path, rendered: str, before: MadeBefore) -> tuple[Measurement, str]:
    """Of the written *file*, and its mark: those of a file made before with the same samples, else measured.

    That the samples are the same is proven after tagging, when the file is read again.
    """
    source, chain = task.source.measurement, task.part.chain
    assert source
    assert chain
    digest = rendering_of(task)
    known = before.figures_of(digest) if digest else None
    if known and rendered in ("", known.value("audio_hash")) and complete(known, task.spec):
        return known, ""
    found = measured(file, source, chain, rendered, task.spec)
    return found, "" if found is source else mark_of_sound(file, found)
